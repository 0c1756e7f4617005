// The fields that put a row of the list right where it stands.

import { element, problemList } from "../shared/elements.js";
import { problemsIn } from "../shared/server.js";
import { withRow } from "./list.js";

/** @import { RowShown } from "../shared/types.js" */
/** @import { Changing } from "./rows.js" */

/**
 * A field for each column, filled with the row; the wrong ones are marked.
 * @param {RowShown} row
 * @param {Changing} changing
 * @returns {HTMLElement}
 */
export function fields(row, { columns, take }) {
  const wrong = new Set(row.problems.map(({ column }) => column));
  const inputs = columns.map((column) => {
    const id = `row-${row.row}-${column}`;
    const value = row.cells[column] ?? "";
    const input = element("input", { id, value });
    if (wrong.has(column)) input.setAttribute("aria-invalid", "true");
    const label = element("label", { for: id }, column);
    return { column, input, node: element("div", {}, label, input) };
  });
  const problems = element("div");
  const use = async () => {
    const filled = inputs.filter(({ input }) => input.value.trim());
    const cells = filled.map(({ column, input }) => [column, input.value.trim()]);
    try {
      await take(await withRow(row.row, Object.fromEntries(cells)));
    } catch (error) {
      problems.replaceChildren(problemList(problemsIn(error).lines));
    }
  };
  return element(
    "form",
    {
      class: "mend",
      "aria-label": `Row ${row.row}`,
      onsubmit: (/** @type {Event} */ event) => {
        event.preventDefault();
        use();
      },
    },
    inputs.map(({ node }) => node),
    element("button", { class: "main-action" }, "Use this row"),
    problems,
  );
}
