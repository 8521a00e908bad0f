// Lengths as people write and read them; inside, they are millimetres.
// @ts-check

const INCH = 25.4;
/** @type {Record<string, number>} */
const UNITS = { mm: 1, cm: 10, m: 1000, in: INCH, inch: INCH, inches: INCH, '"': INCH };

/** @returns {"cm" | "in"} */
export function units() {
  return localStorage.getItem("units") === "in" ? "in" : "cm";
}

/** @param {"cm" | "in"} unit */
export function setUnits(unit) {
  localStorage.setItem("units", unit);
}

/** A length for people, with its unit. @param {number} mm @param {boolean} [signed] */
export function inWords(mm, signed = false) {
  const sign = mm < 0 ? "−" : signed && mm > 0 ? "+" : "";
  return `${sign}${bare(Math.abs(mm))} ${units()}`;
}

/** The same without its unit: tenths of a cm, or eighths of an inch. @param {number} mm */
export function bare(mm) {
  if (units() === "cm") return (mm / 10).toLocaleString(undefined, { maximumFractionDigits: 1 });
  let [over, under] = [Math.round((mm / INCH) * 8), 8];
  const whole = Math.floor(over / 8);
  over -= whole * 8;
  while (over && over % 2 === 0) [over, under] = [over / 2, under / 2];
  return over ? `${whole ? `${whole} ` : ""}${over}/${under}` : String(whole);
}

/** Two sides of something. @param {number} width @param {number} height */
export function size(width, height) {
  return `${bare(width)} × ${bare(height)} ${units()}`;
}

/**
 * What somebody wrote, in mm, or null where it is no length: "2,5", "1 1/2 in", "15 mm"; without a unit, in cm or
 * inches as the page is set.
 * @param {string} text
 */
export function parse(text) {
  const found = /^\s*([+\-−]?)\s*(?:(\d+)\s+)?(\d+(?:[.,]\d+)?)(?:\s*[/⁄]\s*(\d+))?\s*(mm|cm|m|in|inch|inches|")?\s*$/i.exec(text);
  if (!found) return null;
  const [, sign, whole, number, under, unit] = found;
  if (whole && !under) return null;
  const value = Number(number.replace(",", ".")) / (under ? Number(under) : 1) + (whole ? Number(whole) : 0);
  const mm = value * UNITS[(unit ?? units()).toLowerCase()];
  return Number.isFinite(mm) ? (sign && sign !== "+" ? -mm : mm) : null;
}
