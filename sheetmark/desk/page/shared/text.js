// Wording that several views share.

/** For an anchor without a clamp. */
export const NO_CLAMP = "none of the tray fits";

/**
 * A number with its noun: 1 hole, 2 holes.
 * @param {number} count
 * @param {string} singular
 * @param {string} [plural]
 * @returns {string}
 */
export function counted(count, singular, plural = `${singular}s`) {
  return `${count} ${count === 1 ? singular : plural}`;
}
