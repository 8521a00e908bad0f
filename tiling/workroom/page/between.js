// The lines of an alteration before it is worked out: every point on the straight way between two that were.
// @ts-check

const TAKES = /** @type {Record<string, number>} */ ({ M: 2, L: 2, C: 6, Z: 0 }); // numbers to a command of path data
const STEP = 0.01; // mm of a path's numbers
const FAR = 3; // times the distance of the two, in front of the first or behind the second

/** @param {any} mark */
function read(mark) {
  mark.letters ??= mark.d.replace(/[-\d ]+/g, "");
  mark.numbers ??= (mark.d.match(/-?\d+/g) ?? []).map(Number);
  return mark;
}

/** @param {string} letters @param {number[]} numbers */
function path(letters, numbers) {
  let at = 0;
  return [...letters].map((letter) => letter + numbers.slice(at, (at += TAKES[letter])).join(" ")).join("");
}

/** @param {number[]} numbers */
function box(numbers) {
  const side = (/** @type {number} */ axis) => numbers.filter((_, k) => k % 2 === axis).map((one) => one * STEP);
  return [Math.min(...side(0)), Math.min(...side(1)), Math.max(...side(0)), Math.max(...side(1))];
}

/**
 * The scene at a share of the way from one scene to the other; a mark that isn't drawn alike in both is as in the other.
 * @param {any} one @param {any} other @param {number} share @returns {any} null where it would be a mere guess
 */
export function between(one, other, share) {
  if (one.marks.length !== other.marks.length || !(Math.abs(share - 0.5) <= FAR + 0.5)) return null;
  const marks = other.marks.map((/** @type {any} */ mark, /** @type {number} */ k) => {
    const from = one.marks[k];
    if (mark.d === from.d || read(mark).letters !== read(from).letters) return mark;
    const numbers = mark.numbers.map((/** @type {number} */ to, /** @type {number} */ n) => Math.round(from.numbers[n] + (to - from.numbers[n]) * share));
    const { i, s, p, l, r, n, c } = mark;
    return { i, s, p, l, r, n, c, d: path(mark.letters, numbers), b: box(numbers) };
  });
  return { ...other, marks };
}
