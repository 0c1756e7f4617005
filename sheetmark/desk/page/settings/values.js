// Values of the practice file as text, and text that was typed as values.

/** Whether the file has numbers written with a comma. */
export function commaIn({ form }) {
  return form.sections[0].fields.some(
    ({ key, value, default: usual }) => key === "numbers" && (value ?? usual) === "comma",
  );
}

export function words(value, comma) {
  if (value === null || value === undefined) return "";
  if (typeof value === "boolean") return value ? "yes" : "no";
  if (Array.isArray(value)) return value.map((entry) => words(entry, comma)).join("; ");
  const text = String(value);
  return typeof value === "number" && comma ? text.replace(".", ",") : text;
}

/** A number with point or comma; other words as they are, for the desk to refuse. */
function number(text) {
  const plain = text.trim().replace(",", ".");
  return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : text.trim();
}

const entries = (text) =>
  (text.includes(";") ? text.split(";") : text.split(/\s+/))
    .map((entry) => entry.trim().replace(/,$/, ""))
    .filter((entry, place, all) => entry || place < all.length - 1);

/** What a field's text says, by its kind; null for nothing said. */
export const READ = {
  "text": (text) => text,
  "number": (text) => (text.trim() ? number(text) : null),
  "choice": (text) => text || null,
  "choice-or-number": (text) => (text.trim() ? number(text) : null),
  "yes-no": (text) => (text ? text === "true" : null),
  "numbers": (text) => (text.trim() ? entries(text).map(number) : null),
  "texts": (text) => (text.trim() ? entries(text) : null),
  "pair": (texts) => (texts.some((text) => text.trim()) ? texts.map(number) : null),
};
