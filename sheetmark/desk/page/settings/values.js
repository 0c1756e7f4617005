// Values of the practice file as text, and typed text as values.

/** @import { FormField, Settings } from "../shared/types.js" */

/** @typedef {FormField["value"]} Value null: not set */

/**
 * Whether the file writes numbers with a comma.
 * @param {Settings} settings
 * @returns {boolean}
 */
export function usesComma({ form }) {
  const numbers = form.sections[0]?.fields.find(({ key }) => key === "numbers");
  return (numbers?.value ?? numbers?.default) === "comma";
}

/**
 * A value as text.
 * @param {Value | undefined} value
 * @param {boolean} comma
 * @returns {string}
 */
export function textOf(value, comma) {
  if (value === null || value === undefined) return "";
  if (typeof value === "boolean") return value ? "yes" : "no";
  if (Array.isArray(value)) return value.map((entry) => textOf(entry, comma)).join("; ");
  const text = String(value);
  return typeof value === "number" && comma ? text.replace(".", ",") : text;
}

/**
 * The value that was typed into a field. Text that is no number stays text: the desk refuses it.
 * @param {FormField["kind"]} kind
 * @param {string[]} texts of the field's controls; a pair has two
 * @returns {Value} null where nothing was typed
 */
export function valueOf(kind, texts) {
  const [text = ""] = texts;
  const empty = texts.every((entry) => !entry.trim());
  if (kind === "text") return text;
  if (empty) return null;
  switch (kind) {
    case "choice":
      return text;
    case "yes-no":
      return text === "true";
    case "pair":
      return texts.map(numberIn);
    case "texts":
      return entriesIn(text);
    case "numbers":
      return entriesIn(text).map(numberIn);
    default:
      return numberIn(text);
  }
}

/** @param {string} text */
function numberIn(text) {
  const plain = text.trim().replace(",", ".");
  return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : text.trim();
}

/** @param {string} text entries between semicolons or, without any, between spaces */
function entriesIn(text) {
  return (text.includes(";") ? text.split(";") : text.split(/\s+/))
    .map((entry) => entry.trim().replace(/,$/, ""))
    .filter((entry, place, all) => entry || place < all.length - 1);
}
