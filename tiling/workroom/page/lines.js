// The place "Lines": what was recognised, and what somebody says instead. All that is said is kept in the notes.
// @ts-check
import * as api from "./api.js";
import { button, byId, choice, field, fill, fold, h, plural, problem, say, sentence } from "./dom.js";
import { go } from "./go.js";
import { changed, readDrawing, room } from "./store.js";

/** What a line can be, and the colour it is shown in. @type {[string, string, string][]} */
export const ROLES = [
  ["cutting-line", "cutting line", "#22303a"], ["stitching-line", "stitching line", "#00708f"],
  ["grainline", "grainline", "#6b4fb3"], ["fold-line", "fold line", "#8a5a00"], ["notch", "notch", "#c2185b"],
  ["grading-line", "grading line", "#a8369c"], ["lengthen-line", "lengthen/shorten line", "#2e7d32"],
  ["placement-line", "placement line", "#546e7a"], ["dart", "dart", "#c62828"],
]; // prettier-ignore
const COLOURS = new Map(ROLES.map(([role, , colour]) => [role, colour]));
const CUTS = /** @type {[string, string][]} */ ([["single", "as it is drawn"], ["pair", "in pairs, the second mirrored"], ["fold", "on the fold"]]);
const AT_ONCE = 150; // changes in one question

/** @typedef {{text: string, why: string, changes: any[]}} Suggestion */

/** @type {HTMLElement} */
let panel;
/** @type {import("./view.js").View} */
let view;
/** @type {Map<number, {piece: any, line: any}>} what is known of a mark, by its number */
let known = new Map();
/** @type {{mark?: number, piece?: string, edge?: any} | null} a mark, a piece, or an edge of one */
let chosen = null;
/** @type {import("./api.js").Failure | null} */
let failure = null;
let busy = false;
/** @type {{file: string, back: string[], forth: string[]}} texts of the notes, to go back and forth between */
let history = { file: "", back: [], forth: [] };

/** @param {HTMLElement} here @param {import("./view.js").View} on */
export function enter(here, on) {
  [panel, view] = [here, on];
  chosen = failure = null;
  if (history.file !== room.file) history = { file: room.file, back: [], forth: [] };
  view.over = [lightUp];
  view.onpick = pick;
  paint(true);
  render();
}

/** @param {string} what */
export function update(what) {
  if (what === "scene" || what === "seen") {
    if (history.file !== room.file) history = { file: room.file, back: [], forth: [] };
    paint(what === "scene");
  }
  if (what === "scene" || what === "seen" || what === "files") render();
}

/** Show the lines in the colours of their roles. @param {boolean} fit */
function paint(fit) {
  known = new Map();
  for (const piece of room.seen?.lines.pieces ?? []) {
    for (const edge of piece.edges) for (const mark of edge.marks) known.set(mark, { piece, line: { role: { value: edge.role } } });
    for (const line of piece.lines) for (const mark of line.marks) known.set(mark, { piece, line });
    for (const mark of piece.outline.marks) known.set(mark, { piece, line: piece.outline });
  }
  if (!room.scene) return view.show([]);
  view.show([{ scene: room.scene, paint: (mark) => COLOURS.get(roleOf(mark)) ?? "#9aa3a9" }], fit);
}

/** @param {any} mark */
function roleOf(mark) {
  return known.get(mark.i)?.line.role.value || mark.r;
}

/** @type {import("./view.js").Over} */
function lightUp(context, on) {
  if (!chosen || !room.scene) return;
  context.strokeStyle = "#f08a24";
  context.lineWidth = 5 / on.at.scale / 0.01;
  context.globalAlpha = 0.75;
  context.lineJoin = context.lineCap = "round";
  context.scale(0.01, 0.01);
  if (chosen.edge) context.stroke(new Path2D(chosen.edge.d));
  else {
    const marks = chosen.piece === undefined ? [chosen.mark] : pieceOf(chosen.piece)?.outline.marks ?? [];
    for (const mark of room.scene.marks) if (marks.includes(mark.i)) context.stroke((mark.path ??= new Path2D(mark.d)));
  }
}

/** @param {string} ident */
function pieceOf(ident) {
  return room.seen?.lines.pieces.find((/** @type {any} */ one) => one.id === ident);
}

/** The line nearest to a place: one by itself, else an edge, else the piece around it. @param {{x: number, y: number}} spot */
function pick(spot) {
  const pieces = room.seen?.lines.pieces ?? [];
  const ringed = new Set(pieces.flatMap((/** @type {any} */ one) => [...one.outline.marks, ...one.edges.flatMap((/** @type {any} */ edge) => edge.marks)]));
  const marks = view.marksAt(spot);
  const single = marks.find((mark) => !ringed.has(mark.i));
  if (single) return choose({ mark: single.i });
  for (const piece of pieces) {
    const edge = piece.edges.find((/** @type {any} */ one) => view.passes((one.path ??= new Path2D(one.d)), spot));
    if (edge) return choose({ piece: piece.id, edge });
  }
  const inside = pieces.find((/** @type {any} */ one) =>
    spot.x > one.place[0] && spot.x < one.place[2] && spot.y > one.place[1] && spot.y < one.place[3]); // prettier-ignore
  choose(inside ? { piece: inside.id } : null);
}

/** @param {typeof chosen} what */
function choose(what) {
  chosen = what;
  render();
  view.draw();
  if (what) byId("chosen")?.scrollIntoView({ block: "nearest" });
}

function render() {
  const { seen } = room;
  if (!room.file) return fill(panel, h("p", {}, "Open a drawing first."), button("Open a drawing", () => go({ place: "drawing" }), { class: "main" }));
  /** @type {Suggestion[]} */
  const offered = seen?.lines.suggestions ?? [];
  fill(
    panel,
    h("h2", {}, "What the lines are"),
    problem(failure),
    room.failure && problem(room.failure),
    !seen && !room.failure && h("p", { role: "status" }, "Looking at the lines …"),
    seen && h("p", {}, `${sentence(seen.look.shown)}.`),
    seen && (offered.length
      ? button(`Accept ${offered.length === 1 ? "the suggestion" : `all ${offered.length} suggestions`}`, () => accept(offered), { class: "main", disabled: busy })
      : h("p", { class: "good" }, "All that was recognised is in the notes.")),
    h("div", { class: "row" },
      button("Undo", () => goBack(true), { disabled: busy || !history.back.length }),
      button("Redo", () => goBack(false), { disabled: busy || !history.forth.length })),
    seen && (chosen ? h("section", { id: "chosen" }, editor()) : h("p", { class: "small" }, "Click a line or a piece on the drawing to say what it is.")),
    seen && pieces(),
    seen && questions(),
    seen && offered.length > 0 && offers(offered),
    seen && legend(),
  ); // prettier-ignore
}

function pieces() {
  const list = room.seen.lines.pieces;
  return fold(plural(list.length, "piece"), !chosen, h("ul", { class: "list" }, list.map((/** @type {any} */ one) =>
    h("li", {}, button(one.title.value || one.id, () => { choose({ piece: one.id }); view.fit(one.place); }, { class: "line" }),
      h("small", {}, inShort(one)))))); // prettier-ignore
}

/** @param {any} piece */
function inShort(piece) {
  const cut = piece.cut && CUTS.find(([key]) => key === piece.cut.value)?.[1];
  return [piece.copies ? `cut ${piece.copies.value}` : "nothing says how many", cut, piece.cloth?.value].filter(Boolean).join(", ");
}

function legend() {
  const counts = new Map();
  for (const { line } of known.values()) counts.set(line.role.value, (counts.get(line.role.value) ?? 0) + 1);
  return fold("Colours", true, h("ul", { class: "list" }, ROLES.filter(([role]) => counts.has(role)).map(([role, words, colour]) => {
    const swatch = h("span", { class: "swatch" });
    swatch.style.color = colour;
    return h("li", { class: "row" }, swatch, `${words} (${counts.get(role)})`);
  }))); // prettier-ignore
}

function questions() {
  const asked = room.seen.lines.questions;
  return asked.length > 0 && h("section", {}, h("h3", {}, "To be answered"), asked.map((/** @type {any} */ one) =>
    h("div", { class: "finding" }, h("p", {}, sentence(one.text)),
      pieceOf(one.piece) && button("Show it", () => { choose({ piece: one.piece }); view.fit(pieceOf(one.piece).place); })))); // prettier-ignore
}

/** @param {string} role */
function roleWords(role) {
  return ROLES.find(([key]) => key === role)?.[1] ?? "line";
}

/** @param {Suggestion[]} list */
function offers(list) {
  return fold("Suggestions, one by one", false, h("ul", { class: "list" }, list.map((one) =>
    h("li", {}, h("div", {}, one.text), h("small", {}, one.why), " ", button("Accept", () => accept([one]), { disabled: busy, "aria-label": `Accept: ${one.text}` }))))); // prettier-ignore
}

/** @param {Suggestion[]} list */
async function accept(list) {
  const changes = list.flatMap((one) => one.changes);
  for (let at = 0; at < changes.length; at += AT_ONCE) {
    if (!(await write({ changes: changes.slice(at, at + AT_ONCE) }))) return;
  }
  say(list.length === 1 ? "Accepted." : `${list.length} suggestions accepted.`);
}

/** @param {boolean} back */
async function goBack(back) {
  const [from, to] = back ? [history.back, history.forth] : [history.forth, history.back];
  const text = from.pop();
  if (text === undefined) return;
  const now = room.seen.notes.text;
  if (await write({ text }, false)) to.push(now);
  else from.push(text);
  render();
}

/** Write notes and look again. @param {{changes?: any[], text?: string}} what @param {boolean} [remember] */
async function write(what, remember = true) {
  busy = true;
  failure = null;
  render();
  try {
    const told = await api.post("/api/notes", { file: room.file, base: room.seen.notes.base, reading: room.reading, ...what });
    if (remember) {
      history.back.push(told.before);
      history.forth = [];
    }
    await readDrawing();
    return true;
  } catch (thrown) {
    failure = api.failureOf(thrown);
    if (failure.kind === "changed") await readDrawing();
    return false;
  } finally {
    busy = false;
    changed("seen");
  }
}

function editor() {
  return chosen?.piece === undefined || chosen.edge ? lineEditor() : pieceEditor();
}

function pieceEditor() {
  const piece = pieceOf(/** @type {string} */ (chosen?.piece));
  if (!piece) return null;
  const title = h("input", { type: "text", value: piece.title.value, maxLength: 80 });
  const copies = h("input", { type: "number", min: 1, max: 99, value: piece.copies?.value ?? 1 });
  const cut = choice(CUTS, piece.cut?.value ?? "single", () => {});
  const cloth = h("input", { type: "text", value: piece.cloth?.value ?? "main", maxLength: 40, autocomplete: "off" });
  const isNew = piece.outline.role.sure < 0.999;
  return h("form", { onsubmit: (/** @type {Event} */ event) => {
    event.preventDefault();
    void write({ changes: [{ kind: "piece", id: piece.id, title: title.value, copies: Math.max(1, Math.round(Number(copies.value))), cut: cut.value, cloth: cloth.value, ...(isNew && { at: piece.outline.at }) }] });
  } }, h("h3", {}, `Piece: ${piece.title.value || piece.id}`),
    field("Name", title), h("div", { class: "pair" }, field("How many to cut", copies), field("From which cloth", cloth)), field("Cut", cut),
    h("div", { class: "row" }, h("button", { disabled: busy }, "Keep this"), button("Close", () => choose(null), { class: "quiet" }))); // prettier-ignore
}

/** What is known of the line that was chosen, and the place by which notes point at it. */
function chosenLine() {
  const edge = chosen?.edge;
  if (edge) return { role: { value: edge.role, why: edge.name.why }, name: edge.name.value, piece: chosen?.piece, at: edge.at };
  const mark = room.scene?.marks.find((/** @type {any} */ one) => one.i === chosen?.mark);
  if (!mark) return null;
  const found = known.get(mark.i);
  return { role: found?.line.role ?? { value: mark.r, why: "" }, name: found?.line.name || mark.n || "", piece: found?.piece.id ?? "", at: found?.line.at ?? middleOf(mark) };
}

function lineEditor() {
  const line = chosenLine();
  if (!line) return null;
  const { at } = line;
  const piece = choice([["", "no piece"], ...room.seen.lines.pieces.map((/** @type {any} */ one) => [one.id, one.title.value || one.id])], line.piece ?? "", () => {});
  const role = choice([...ROLES.map(([key, words]) => /** @type {[string, string]} */ ([key, words])), ["", "nothing in particular"]], line.role.value, () => {});
  const name = h("input", { type: "text", value: line.name, maxLength: 60, autocomplete: "off" });
  return h("form", { onsubmit: (/** @type {Event} */ event) => {
    event.preventDefault();
    void write({ changes: [{ kind: "line", piece: piece.value, role: role.value || null, name: name.value, at }] });
  } }, h("h3", {}, `This line: ${roleWords(line.role.value)}`),
    line.role.why && h("p", { class: "small" }, `Taken for that because of ${line.role.why}.`),
    field("It is a", role), field("It belongs to", piece), field("Its name", name, "What seams and measures call it: hem, side, waist."),
    h("div", { class: "row" }, h("button", { disabled: busy }, "Keep this"),
      button("Say nothing of it", () => write({ changes: [{ kind: "no-line", at }] }), { disabled: busy }),
      button("Close", () => choose(null), { class: "quiet" }))); // prettier-ignore
}

/** A place in mm on a mark. @param {any} mark */
function middleOf(mark) {
  const path = document.createElementNS("http://www.w3.org/2000/svg", "path");
  path.setAttribute("d", mark.d);
  const place = path.getPointAtLength(path.getTotalLength() / 2);
  return [Math.round(place.x / 10) / 10, Math.round(place.y / 10) / 10];
}
