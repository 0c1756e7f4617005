// Above a case that is a row of the day's list: put it back, or leave the row as it was.

import { choices } from "../case/address.js";
import { element, problemList } from "../shared/elements.js";
import { problemsIn } from "../shared/server.js";
import {
  cellsOfCase,
  keepList,
  leaveCase,
  readList,
  rowAsCase,
  withRow,
} from "./list.js";

/**
 * The bar, or nothing where the case is no row of a list.
 * @returns {HTMLElement[]}
 */
export function caseBar() {
  const open = rowAsCase();
  if (!open) return [];
  const problems = element("div");
  const back = async () => {
    try {
      const { cells, lost } = await cellsOfCase(choices());
      if (lost.length) {
        const names = lost.join(", ");
        problems.replaceChildren(
          problemList([`No column of a list holds ${names}. Take it back, or print this case.`]),
        );
        return;
      }
      const list = await withRow(open.row, cells);
      if (list) keepList({ list, day: await readList(list, false) });
      location.hash = "#/day";
    } catch (error) {
      problems.replaceChildren(problemList(problemsIn(error).lines));
    }
  };
  const leave = () => {
    leaveCase();
    location.hash = "#/day";
  };
  return [
    element(
      "section",
      { class: "case-bar", "aria-label": "Day's list" },
      element("p", {}, `Row ${open.row} of ${open.name}`),
      element(
        "div",
        { class: "row" },
        element("button", { type: "button", class: "main-action", onclick: back }, "Put it back"),
        element("button", { type: "button", onclick: leave }, "Leave the row as it was"),
      ),
      problems,
    ),
  ];
}
