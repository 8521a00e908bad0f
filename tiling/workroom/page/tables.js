// Tables of what to cut, sew and buy.
// @ts-check
import { fold, h, plural, sentence } from "./dom.js";
import { findings } from "./jobs.js";
import { inWords } from "./lengths.js";

const CUT = /** @type {Record<string, string>} */ ({ single: "as drawn", pair: "in pairs", fold: "on the fold" });

/** @param {string[]} heads @param {any[][]} rows @param {number[]} [numbers] columns of figures */
export function table(heads, rows, numbers = []) {
  const cell = (/** @type {string} */ tag, /** @type {any} */ text, /** @type {number} */ at) =>
    h(tag, { class: numbers.includes(at) ? "number" : null, scope: tag === "th" ? "col" : null }, text);
  return h("table", {}, h("thead", {}, h("tr", {}, heads.map((text, at) => cell("th", text, at)))),
    h("tbody", {}, rows.map((row) => h("tr", {}, row.map((text, at) => cell("td", text, at)))))); // prettier-ignore
}

/** Seams before and after. @param {any[]} seams */
export function seamsTable(seams) {
  const change = (/** @type {any} */ seam, /** @type {number} */ side) =>
    `${inWords(seam.before_mm[side])} → ${inWords(seam.after_mm[side])}`;
  return h("section", {}, h("h3", {}, "Seams that change"), table(["Seam", "One side", "The other"], seams.map((one) =>
    [one.name, change(one, 0), change(one, 1)]))); // prettier-ignore
}

/** @param {any} notion */
function amount(notion) {
  if (notion.buy_mm !== undefined) return inWords(notion.buy_mm);
  return String(notion.buy ?? notion.count);
}

/** What a job told of the cloth. @param {any} told */
export function cuttingList(told) {
  const cut = told.cutting.flatMap((/** @type {any} */ row) => row.cut.map((/** @type {any} */ share) => [row.title || row.piece, share.copies, CUT[share.as], share.cloth]));
  return h("section", {},
    told.cautions.map((/** @type {any} */ one) => h("div", { class: "problem", role: "note" }, h("p", {}, h("b", {}, `${one.heading}. `), one.text))),
    told.lay_plans.map((/** @type {any} */ one) => h("p", {}, h("b", {}, `${sentence(one.cloth)}: buy ${inWords(one.buy_mm)}`), ` of ${inWords(one.width_mm)} wide; the lay is ${inWords(one.length_mm)} long.`)),
    table(["Piece", "Cut", "How", "Cloth"], cut, [1]),
    told.notions.length > 0 && [h("h3", {}, "Besides the cloth"), table(["What", "For", "Buy"], told.notions.map((/** @type {any} */ one) => [one.name, one.place, amount(one)]), [2])],
    told.sizes.length > 0 && [h("h3", {}, "Finished"), table(["Measure", "Body", "Finished"], told.sizes.map((/** @type {any} */ one) => [one.measure, one.body_mm ? inWords(one.body_mm) : "–", one.finished_mm ? inWords(one.finished_mm) : "–"]), [1, 2])],
    told.findings.length > 0 && fold(plural(told.findings.length, "thing to know", "things to know"), false, findings(told.findings))); // prettier-ignore
}
