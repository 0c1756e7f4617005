// What was said beyond the teeth to treat: in the address, and as a list with ways to change it.

import { choices, putAll } from "./choices.js";
import { element, keepFocus } from "../shared/elements.js";
import { labelOf } from "./teeth.js";

const SPANS = { anchor: "Clamp on", slit: "One slot", expose: "Through the sheet:" };

function dropFrom(next, different, tooth) {
  const others = different.filter((said) => said.tooth !== tooth);
  putAll(next, "with", others.map((said) => `${said.tooth} ${said.words.join(" ")}`));
}

/** Puts what the menu of a tooth gave back into the choices. */
export function sayOf(next, iso, different, answer) {
  const said = new Map(different.map(({ tooth, words }) => [tooth, words.join(" ")]));
  said.delete(iso);
  for (const [tooth, words] of answer.different) said.set(tooth, words);
  const withs = [...said].filter(([, words]) => words).map(([tooth, words]) => `${tooth} ${words}`);
  putAll(next, "with", [...withs, ...answer.bridges]);
  const keep = (name, holds) => {
    const others = next.getAll(name).filter((tooth) => tooth !== iso);
    putAll(next, name, holds ? [...others, iso] : others);
  };
  keep("treat", answer.treated);
  keep("anchor", answer.anchor);
  if (answer.slit) next.append("slit", answer.slit);
  if (answer.expose) putAll(next, "expose", [answer.expose]);
}

/** `act.describe` opens the menu of a tooth; `change` and `changeSaid` alter the choices. */
export class Said {
  #state;
  #act;

  constructor(state, act) {
    this.#state = state;
    this.#act = act;
    this.part = element("div");
  }

  draw() {
    keepFocus(this.part, () => this.#draw());
  }

  #draw() {
    const rows = [...this.#undrawn(), ...this.#teeth(), ...this.#spans()];
    if (!rows.length) {
      this.part.replaceChildren();
      return;
    }
    this.part.replaceChildren(
      element("h2", {}, "In this mouth"),
      element("ul", { class: "said" }, rows.map((row) => this.#item(row))),
    );
  }

  /** Teeth to treat that the row of another age or arch does not have, to be taken back. */
  #undrawn() {
    return (this.#state.shown.undrawn ?? []).map(({ value, words }) => ({
      words: `${words} to treat, not in this row of teeth`,
      remove: () =>
        this.#act.change((next) =>
          putAll(next, "treat", next.getAll("treat").filter((iso) => iso !== value)),
        ),
    }));
  }

  #teeth() {
    const { different } = this.#state.shown;
    return different.map(({ tooth, label, words }) => ({
      words: `${label} ${words.join(", ")}`,
      edit: () => this.#act.describe(tooth),
      remove: () => this.#act.changeSaid((next, now) => dropFrom(next, now, tooth)),
    }));
  }

  #spans() {
    const now = choices();
    const spoken = (span) =>
      span.split("-").map((iso) => labelOf(this.#state.shown, iso)).join(" to ");
    return Object.entries(SPANS).flatMap(([name, words]) =>
      now.getAll(name).map((span) => ({
        words: `${words} ${spoken(span)}`,
        remove: () =>
          this.#act.change((next) =>
            putAll(next, name, next.getAll(name).filter((other) => other !== span)),
          ),
      })),
    );
  }

  #item({ words, edit, remove }) {
    const button = (does, onclick) =>
      element("button", { type: "button", "aria-label": `${does}: ${words}`, onclick }, does);
    return element(
      "li",
      {},
      element("span", {}, words),
      edit ? button("Change", edit) : null,
      button("Remove", remove),
    );
  }
}
