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
const WRITTEN = new Set(["lengthen-line", "grading-line", "placement-line", "dart"]);
const CUTS = /** @type {[string, string][]} */ ([["single", "as it is drawn"], ["pair", "in pairs, the second mirrored"], ["fold", "on the fold"]]);
const AT_ONCE = 150; // changes in one question

/** @type {HTMLElement} */
let panel;
/** @type {import("./view.js").View} */
let view;
/** @type {Map<number, {piece: any, line: any}>} what is known of a mark, by its number */
let known = new Map();
/** @type {{mark?: number, piece?: string} | null} */
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
    const name = (/** @type {any} */ line, /** @type {any} */ role) => {
      for (const mark of line.marks) known.set(mark, { piece, line: { ...line, role: line.role ?? role } });
    };
    for (const edge of piece.edges) {
      const cut = edge.marks.every((/** @type {number} */ mark) => piece.outline.marks.includes(mark));
      name({ ...edge, name: edge.name.value, sure: edge.name.sure, edge: true }, { value: cut ? "cutting-line" : "stitching-line", sure: edge.name.sure, why: edge.name.why });
    }
    for (const line of piece.lines) name(line, line.role);
    name({ ...piece.outline, name: "" }, piece.outline.role);
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
  const marks = chosen.piece !== undefined ? pieceOf(chosen.piece)?.outline.marks ?? [] : [chosen.mark];
  context.strokeStyle = "#f08a24";
  context.lineWidth = 5 / on.at.scale / 0.01;
  context.globalAlpha = 0.75;
  context.lineJoin = context.lineCap = "round";
  context.scale(0.01, 0.01);
  for (const mark of room.scene.marks) {
    if (marks.includes(mark.i)) context.stroke((mark.path ??= new Path2D(mark.d)));
  }
}

/** @param {string} ident */
function pieceOf(ident) {
  return room.seen?.lines.pieces.find((/** @type {any} */ one) => one.id === ident);
}

/** @param {{x: number, y: number}} spot */
function pick(spot) {
  if (!room.seen) return;
  const [mark] = view.marksAt(spot);
  const inside = room.seen.lines.pieces.find((/** @type {any} */ one) =>
    spot.x > one.place[0] && spot.x < one.place[2] && spot.y > one.place[1] && spot.y < one.place[3]); // prettier-ignore
  if (mark && !(known.get(mark.i)?.piece.outline.marks.includes(mark.i) && known.get(mark.i)?.line.role.value === "cutting-line" && !known.get(mark.i)?.line.edge)) choose({ mark: mark.i });
  else if (mark) choose({ piece: known.get(mark.i)?.piece.id });
  else choose(inside ? { piece: inside.id } : null);
}

/** @param {{mark?: number, piece?: string} | null} what */
function choose(what) {
  chosen = what;
  render();
  view.draw();
  if (what) byId("chosen")?.scrollIntoView({ block: "nearest" });
}

function render() {
  const { seen } = room;
  if (!room.file) return fill(panel, h("p", {}, "Open a drawing first."), button("Open a drawing", () => go({ place: "drawing" }), { class: "main" }));
  const offered = seen ? suggestions() : [];
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

/**
 * What was recognised but isn't said in the drawing or its notes: a text, and the changes that would say it.
 * @returns {{text: string, why: string, changes: any[]}[]}
 */
function suggestions() {
  const found = [];
  const open = (/** @type {any} */ guess) => guess && guess.sure < 0.999;
  for (const piece of room.seen.lines.pieces) {
    const title = piece.title.value || piece.id;
    const said = Object.fromEntries(["copies", "cut", "cloth"].filter((key) => open(piece[key])).map((key) => [key, piece[key].value]));
    const isNew = open(piece.outline.role);
    if (isNew || Object.keys(said).length) {
      found.push({
        text: `${title}${isNew ? " is a piece" : ""}: ${inShort(piece)}`, why: (piece.copies ?? piece.outline.role).why,
        changes: [{ kind: "piece", id: piece.id, title, ...said, ...(isNew && { at: piece.outline.at }) }],
      }); // prettier-ignore
    }
    for (const edge of piece.edges) {
      if (edge.on_fold || !open(edge.name)) continue;
      const cut = edge.marks.every((/** @type {number} */ mark) => piece.outline.marks.includes(mark));
      found.push({ text: `${title}: the ${edge.name.value}`, why: edge.name.why, changes: [
        { kind: "line", piece: piece.id, role: cut ? "cutting-line" : "stitching-line", name: edge.name.value, at: edge.at }] }); // prettier-ignore
    }
    for (const line of piece.lines) {
      if (!open(line.role) || !WRITTEN.has(line.role.value)) continue;
      found.push({ text: `${title}: a ${roleWords(line.role.value)}${line.name ? `, ${line.name}` : ""}`, why: line.role.why, changes: [
        { kind: "line", piece: piece.id, role: line.role.value, name: line.name, at: line.at }] }); // prettier-ignore
    }
  }
  for (const seam of room.seen.lines.seams) {
    if (room.seen.look.seams.some((/** @type {any} */ one) => one.first.includes(seam.first) && one.second.includes(seam.second))) continue;
    found.push({ text: `${seam.first} is sewn to ${seam.second}`, why: seam.why, changes: [{ kind: "seam", first: [seam.first], second: [seam.second] }] });
  }
  return found;
}

/** @param {string} role */
function roleWords(role) {
  return ROLES.find(([key]) => key === role)?.[1] ?? "line";
}

/** @param {ReturnType<typeof suggestions>} list */
function offers(list) {
  return fold("Suggestions, one by one", false, h("ul", { class: "list" }, list.map((one) =>
    h("li", {}, h("div", {}, one.text), h("small", {}, one.why), " ", button("Accept", () => accept([one]), { disabled: busy, "aria-label": `Accept: ${one.text}` }))))); // prettier-ignore
}

/** @param {ReturnType<typeof suggestions>} list */
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
  return chosen?.piece === undefined ? lineEditor() : pieceEditor();
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

function lineEditor() {
  const mark = room.scene?.marks.find((/** @type {any} */ one) => one.i === chosen?.mark);
  if (!mark) return null;
  const found = known.get(mark.i);
  const line = found?.line;
  const piece = choice([["", "no piece"], ...room.seen.lines.pieces.map((/** @type {any} */ one) => [one.id, one.title.value || one.id])], found?.piece.id ?? "", () => {});
  const role = choice([...ROLES.map(([key, words]) => /** @type {[string, string]} */ ([key, words])), ["", "nothing in particular"]], line?.role.value || mark.r, () => {});
  const name = h("input", { type: "text", value: line?.name ?? mark.n ?? "", maxLength: 60, autocomplete: "off" });
  const at = line?.at ?? middleOf(mark);
  return h("form", { onsubmit: (/** @type {Event} */ event) => {
    event.preventDefault();
    void write({ changes: [{ kind: "line", piece: piece.value, role: role.value || null, name: name.value, at }] });
  } }, h("h3", {}, `This line${line ? `: ${roleWords(line.role.value)}` : ""}`),
    line?.role.why && h("p", { class: "small" }, `Taken for that because of ${line.role.why}.`),
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
