// The choices of the case, kept in the page's address.

/**
 * The choices as they stand.
 * @returns {URLSearchParams}
 */
export function choices() {
  return new URLSearchParams(location.hash.split("?")[1] || "");
}

/** @returns {URLSearchParams} the choices without those of the screen, which no file depends on */
export function fileChoices() {
  const now = choices();
  now.delete("view");
  return now;
}

/**
 * Changes the choices, as a step that Back undoes.
 * @param {(next: URLSearchParams) => void} alter
 */
export function changeChoices(alter) {
  const next = choices();
  alter(next);
  const text = next.toString().replaceAll("+", "%20");
  goTo(text ? `#/case?${text}` : "#/case");
}

/**
 * Goes to another case, as a step that Back undoes.
 * @param {string} address `#/case?…`
 */
export function goTo(address) {
  history.pushState({ depth: depth() + 1 }, "", address);
}

/** @returns {number} how many changes Back takes back before it leaves the case */
function depth() {
  return Number(history.state?.depth ?? 0);
}

/** @returns {boolean} whether there is a change to take back */
export function canUndo() {
  return depth() > 0;
}

/**
 * Replaces all values of a choice.
 * @param {URLSearchParams} next
 * @param {string} name
 * @param {Iterable<string>} values
 */
export function setAll(next, name, values) {
  next.delete(name);
  for (const value of values) next.append(name, value);
}

/**
 * Removes a value of a choice.
 * @param {URLSearchParams} next
 * @param {string} name
 * @param {string} value
 */
export function removeValue(next, name, value) {
  setAll(next, name, next.getAll(name).filter((other) => other !== value));
}
