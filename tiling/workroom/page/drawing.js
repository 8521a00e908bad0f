// The place "Drawing": open one, see it at its real size, answer what is doubtful about it.
// @ts-check
import * as api from "./api.js";
import { button, byId, choice, field, fill, fold, h, plural, problem, say, sentence, tick } from "./dom.js";
import { go } from "./go.js";
import { inWords, parse, size } from "./lengths.js";
import { readDrawing, room } from "./store.js";

const TALL = 1700; // mm, of the silhouette
const ASIDE = 120; // mm between it and the drawing

/** @type {HTMLElement} */
let panel;
/** @type {import("./view.js").View} */
let view;
/** @type {import("./api.js").Failure | null} */
let failure = null;
/** @type {Blob & {name?: string} | null} */
let dropped = null;
/** @type {{x: number, y: number}[] | null} */
let points = null;
let person = true;
/** @type {Set<string>} pieces that are not shown */
const hidden = new Set();
let only = ""; // the size that is shown of those nested in one another
let last = "";

/** @param {HTMLElement} here @param {import("./view.js").View} on */
export function enter(here, on) {
  [panel, view] = [here, on];
  failure = points = null;
  view.around = ([x0, y0, x1, y1]) => (person && room.scene ? [-(TALL * 0.28 + ASIDE), Math.min(y0, y1 - TALL), x1, y1] : [x0, y0, x1, y1]);
  view.over = [silhouette, measure];
  view.onpick = picked;
  showScene(true);
  update("all");
}

/** @param {string} what */
export function update(what) {
  if (what === "scene") {
    if (last !== room.file) {
      hidden.clear();
      only = "";
    }
    last = room.file;
    showScene(true);
  }
  if (what === "jobs" || what === "printers" || what === "phone") return;
  fill(panel, room.file ? opened() : nothing());
  fill(byId("note"), room.scene && `${size(...pair(room.scene.size_mm))}${person ? ` · the figure is ${inWords(TALL)} tall` : ""}`);
  welcome();
}

/** @param {number[]} sides @returns {[number, number]} */
function pair(sides) {
  return [sides[0], sides[1]];
}

/** Show the drawing, without what was switched off. @param {boolean} fit */
function showScene(fit) {
  const { scene } = room;
  if (!scene) return view.show([]);
  const off = new Set();
  for (const piece of room.seen?.lines.pieces ?? []) {
    if (hidden.has(piece.id)) for (const mark of piece.marks) off.add(mark);
    for (const { name, marks } of piece.sizes) if (only && name !== only) for (const mark of marks) off.add(mark);
  }
  view.show([{ scene, paint: off.size ? (mark) => (off.has(mark.i) ? "" : null) : undefined }], fit);
}

/** What stands on the stage while nothing is open. */
function welcome() {
  document.querySelector(".drop")?.remove();
  if (room.scene || (room.file && !room.failure)) return;
  byId("stage").append(
    h("div", { class: "drop" }, h("p", {}, room.file ? "This drawing can't be shown." : "Drop a drawing here: an SVG or PDF at full size"),
      h("label", { class: "button", for: "choose" }, "Choose a file")),
  ); // prettier-ignore
}

export function leave() {
  document.querySelector(".drop")?.remove();
}

function chooser() {
  return h("input", {
    type: "file", id: "choose", class: "unseen", accept: ".svg,.pdf,image/svg+xml,application/pdf",
    onchange: (/** @type {any} */ event) => event.target.files[0] && take(event.target.files[0]),
  }); // prettier-ignore
}

/** Save a drawing into the folder and open it. @param {Blob & {name?: string}} file @param {boolean} [replace] */
export async function take(file, replace = false) {
  failure = null;
  try {
    const saved = await api.send("/api/files", file, { name: file.name ?? "drawing.svg", replace: replace ? 1 : "" });
    dropped = null;
    if (saved.name === room.file) void readDrawing();
    go({ place: "drawing", file: saved.name, reading: {} });
  } catch (thrown) {
    failure = api.failureOf(thrown);
    dropped = file;
    if (panel) update("files");
  }
}

/** The refusal of a dropped file, with what to do. */
function refusedFile() {
  if (!failure) return null;
  const replace = failure.remedy?.action === "REPLACE_OR_RENAME" && dropped;
  return problem(
    replace ? { ...failure, remedy: null } : failure,
    replace && h("div", { class: "row" },
      button("Replace it", () => dropped && take(dropped, true)),
      button("Leave it as it is", () => { failure = dropped = null; update("files"); })),
  ); // prettier-ignore
}

function nothing() {
  const drawings = room.files.filter((one) => !one.printed);
  return [
    chooser(),
    h("h2", {}, "Open a drawing"),
    refusedFile(),
    h("label", { class: "button main", for: "choose" }, "Choose a file"),
    h("p", { class: "small" }, "It is saved in the folder ", h("b", {}, room.folder), ". Nothing leaves this computer."),
    drawings.length > 0 && h("h3", {}, "In this folder"),
    h("ul", { class: "list" }, drawings.map((one) => h("li", {}, button(one.name, () => go({ file: one.name }), { class: "line" })))),
  ];
}

function opened() {
  const { scene, seen } = room;
  const look = seen?.look;
  return [
    chooser(),
    h("h2", {}, look?.title || room.file),
    refusedFile(),
    unreadable(),
    !scene && !room.failure && h("p", { role: "status" }, "Reading the drawing …"),
    scene && h("p", { class: "big" }, size(...pair(scene.size_mm))),
    look && h("p", { class: "small" }, `Its size is ${look.size_basis}${look.scale === 1 ? "" : `, scaled by ${look.scale.toFixed(4)}`}.`),
    look && h("p", {}, `${sentence(look.shown)}.`),
    scene && button("Choose paper and make pages", () => go({ place: "pages" }), { class: "main" }),
    look && findings(look.findings),
    scene && sizeDoubt(),
    scene && pieces(),
    scene && layers(look),
    scene && tick(`Show a figure of ${inWords(TALL)} beside it`, person, (on) => { person = on; view.fit(); update("person"); }, "person"),
    h("label", { class: "button quiet", for: "choose" }, "Open another file"),
  ]; // prettier-ignore
}

/** Why the drawing can't be shown, with its remedy as buttons. */
function unreadable() {
  return room.failure && problem(room.failure, remedies(room.failure.remedy));
}

/** @param {any[]} list */
function findings(list) {
  if (!list.length) return null;
  return h("section", {}, h("h3", {}, plural(list.length, "thing to know", "things to know")), list.map((one) =>
    h("div", { class: "finding" }, h("p", {}, one.where && !one.where.includes(room.file) ? `${one.where}: ${one.text}` : one.text),
      h("div", { class: "row" }, remedies(one.remedy), whereabouts(one.where))))); // prettier-ignore
}

/** A button that shows where a finding lies, if that is a piece. @param {string} where */
function whereabouts(where) {
  const piece = room.scene?.pieces.find((/** @type {any} */ one) => one.id === where || one.title === where);
  return piece && button("Show it", () => view.fit(piece.box));
}

/** What can be done about a finding or a failure, as buttons. @param {import("./api.js").Remedy | null} remedy */
function remedies(remedy) {
  if (!remedy) return null;
  const { action, values } = remedy;
  const reading = (/** @type {any} */ more) => () => go({ reading: { ...room.reading, ...more } });
  const without = (/** @type {string[]} */ ...keys) => () =>
    go({ reading: Object.fromEntries(Object.entries(room.reading).filter(([key]) => !keys.includes(key))) });
  /** @type {Record<string, () => any>} */
  const known = {
    SCALE_IF: () => button(`Scale it by ${values[0]}`, reading({ scale: Number(values[0]) })),
    TRY_RATES: () => values.map((rate) => button(`It has ${rate} px to the inch`, reading({ px_per_inch: Number(rate) }))),
    GIVE_RATE: () => ["96", "90", "72"].map((rate) => button(`${rate} px to the inch`, reading({ px_per_inch: Number(rate) }))),
    GIVE_TRUE_LENGTH: () => button("Show a length I know", startMeasuring),
    SHOW_LAYER: () => button(`Show the layer ${values[0]}`, reading({ layers: [...(room.reading.layers ?? []), values[0]] })),
    LEAVE_SCALE_OUT: () => button("Leave the scale out", without("scale", "true")),
    LEAVE_RATE_OUT: () => button("Leave the rate out", without("px_per_inch")),
    LEAVE_PAGES_OUT: () => button("Take all pages", without("pages")),
    CHOOSE_OTHER_LAYERS: () => button("Show all layers", without("layers")),
    CHOOSE_OTHER_PAGES: () => button("Take all pages", without("pages")),
  };
  return known[action]?.() ?? null;
}

/** What answers "is this the right size?" */
function sizeDoubt() {
  if (points) {
    const length = h("input", { type: "text", id: "true-length", inputMode: "decimal", placeholder: "such as 10 cm" });
    const far = points.length === 2 ? Math.hypot(points[1].x - points[0].x, points[1].y - points[0].y) : 0;
    return h("section", {}, h("h3", {}, "A length you know"),
      h("p", { role: "status" }, ["Click one end of it on the drawing.", "Now the other end.", `As drawn it is ${inWords(far)}. How long is it really?`][points.length]),
      points.length === 2 && field("Its real length", length),
      h("div", { class: "row" },
        points.length === 2 && button("Use this", () => useLength(length)),
        button("Never mind", () => { points = null; stopMeasuring(); })),
      h("p", { id: "length-fault" })); // prettier-ignore
  }
  return fold("Is it the right size?", Boolean(Object.keys(room.reading).some((key) => key !== "layers")),
    h("p", {}, "Compare it with the figure. If it is not right, show one length on the drawing that you know."),
    h("div", { class: "row" },
      button("Show a length I know", startMeasuring),
      (room.reading.true || room.reading.scale || room.reading.px_per_inch) && button("Back to its own size", () => {
        const { layers, pages } = room.reading;
        go({ reading: { ...(layers && { layers }), ...(pages && { pages }) } });
      }))); // prettier-ignore
}

function startMeasuring() {
  points = [];
  byId("stage").classList.add("picking");
  update("points");
}

function stopMeasuring() {
  byId("stage").classList.remove("picking");
  update("points");
  view.draw();
}

/** @param {{x: number, y: number}} spot */
function picked(spot) {
  if (!points || points.length > 1) return;
  points.push(spot);
  if (points.length === 2) byId("stage").classList.remove("picking");
  update("points");
  view.draw();
}

/** @param {HTMLInputElement} input */
function useLength(input) {
  const mm = parse(input.value);
  if (!points || mm === null || mm <= 0) {
    fill(byId("length-fault"), "Write a length such as 10 cm or 4 in.");
    input.focus();
    return;
  }
  const scale = room.seen?.look.scale ?? 1; // picked on what is shown, told of what was drawn
  const ends = points.flatMap((one) => [one.x / scale, one.y / scale]);
  points = null;
  const { scale: _scale, ...rest } = room.reading;
  go({ reading: { ...rest, true: { points: ends.map((one) => Math.round(one * 100) / 100), length_mm: mm } } });
  say("Reading the drawing at this size.");
}

/** Pieces to go to, and to switch off in the view; sizes nested in one another. */
function pieces() {
  const list = room.scene.pieces;
  const sizes = [...new Set((room.seen?.lines.pieces ?? []).flatMap((/** @type {any} */ one) => one.sizes.map((/** @type {any} */ size) => size.name)))];
  const shown = (/** @type {any} */ one) => h("input", { type: "checkbox", id: `shown-${one.id}`, checked: !hidden.has(one.id), "aria-label": `Show ${one.title || one.id}`, onchange: (/** @type {any} */ event) => {
    if (event.target.checked) hidden.delete(one.id);
    else hidden.add(one.id);
    showScene(false);
  } }); // prettier-ignore
  return list.length > 0 && fold(plural(list.length, "piece"), list.length < 13,
    sizes.length > 1 && field("Size", choice([["", "all of them"], ...sizes.map((one) => /** @type {[string, string]} */ ([one, one]))], only, (size) => { only = size; showScene(false); }, "size")),
    h("ul", { class: "list" }, list.map((/** @type {any} */ one) => h("li", { class: "switch" }, shown(one),
      button(`${one.title || one.id} · ${size(one.box[2] - one.box[0], one.box[3] - one.box[1])}`, () => view.fit(one.box), { class: "line" }))))); // prettier-ignore
}

/** Layers to switch: these are read, and so printed. @param {any} look */
function layers(look) {
  const list = look?.layers ?? room.scene.layers;
  if (list.length < 2) return null;
  const on = new Set(room.reading.layers ?? list.filter((/** @type {any} */ one) => one.shown).map((/** @type {any} */ one) => one.name));
  return fold(plural(list.length, "layer"), true, list.map((/** @type {any} */ one) =>
    tick(one.name, on.has(one.name), (shown) => {
      if (shown) on.add(one.name);
      else on.delete(one.name);
      const { layers: _layers, ...rest } = room.reading;
      if (on.size) go({ reading: { ...rest, layers: list.map((/** @type {any} */ l) => l.name).filter((/** @type {string} */ n) => on.has(n)) } });
      else update("layers");
    }))); // prettier-ignore
}

/** The right half of a figure, in hundredths of its height from the crown down, for one smooth line. */
const FIGURE = [
  [0, 10], [1.9, 10], [2.2, 15.6], [6.6, 17.4], [9.2, 19.4], [10.4, 26], [11.7, 34], [12.6, 41], [13.6, 47.5], [13.2, 50],
  [11.9, 49.6], [10.7, 42.5], [9.2, 35], [8.1, 29], [7.2, 27], [6.8, 33], [6.3, 38], [7.6, 44], [8.6, 50.5], [8.3, 60], [6.9, 72],
  [6.5, 79], [5.4, 90], [5, 95.6], [7.6, 98.6], [7.4, 100], [2.2, 100], [1.9, 95], [1.6, 83], [1.7, 72], [0.9, 60], [0, 53],
]; // prettier-ignore

/** A plain figure beside the drawing, both feet on its lower edge. @type {import("./view.js").Over} */
function silhouette(context) {
  if (!person || !room.scene) return;
  const k = TALL / 100;
  context.translate(-ASIDE - 14 * k, room.scene.size_mm[1] - TALL);
  context.scale(k, k);
  context.fillStyle = getComputedStyle(document.documentElement).getPropertyValue("--soft");
  context.globalAlpha = 0.6;
  context.beginPath();
  context.ellipse(0, 6.9, 4.4, 6.4, 0, 0, 7);
  const line = [...FIGURE, ...FIGURE.toReversed().map(([x, y]) => [-x, y])];
  context.moveTo(line[0][0], line[0][1]);
  line.forEach(([x, y], at) => {
    const [x1, y1] = line[(at + 1) % line.length];
    context.quadraticCurveTo(x, y, (x + x1) / 2, (y + y1) / 2);
  });
  context.fill();
}

/** @type {import("./view.js").Over} */
function measure(context, on) {
  if (!points?.length) return;
  const px = 1 / on.at.scale;
  context.strokeStyle = context.fillStyle = "#a33d26";
  context.lineWidth = 2 * px;
  for (const { x, y } of points) {
    context.beginPath();
    context.arc(x, y, 6 * px, 0, 7);
    context.stroke();
  }
  if (points.length === 2) {
    context.beginPath();
    context.moveTo(points[0].x, points[0].y);
    context.lineTo(points[1].x, points[1].y);
    context.stroke();
  }
}
