// The place "Alter and sew": before and after over one another while a slider moves, the pages that change, and then
// what to cut from how much cloth.
// @ts-check
import * as api from "./api.js";
import { between } from "./between.js";
import { button, choice, field, fill, fold, h, plural, problem, sentence, tick } from "./dom.js";
import { go } from "./go.js";
import { begin, card, findings, refusal } from "./jobs.js";
import { bare, inWords, parse, units } from "./lengths.js";
import { pageChoice } from "./pages.js";
import { jobsOf, named, room } from "./store.js";
import { cuttingList, seamsTable } from "./tables.js";

/** @type {HTMLElement} */
let panel;
/** @type {import("./view.js").View} */
let view;
/** @type {any} */
let found = null;
/** @type {import("./api.js").Failure | null} */
let failure = null;
/** @type {{alter: string, printed: string, drawing: string} | null} what follows when the altered drawing is there */
let next = null;

const TAB = Math.random().toString(36).slice(2);
const FARTHEST = 150; // mm, of a slider
const SHIFT = 0.5; // mm that a seam must change to be shown
const wishes = {
  file: "", around: 0, longer: 0, taper: 100, to: /** @type {Record<string, string>} */ ({}), pieces: /** @type {string[]} */ ([]), match: false,
  places: /** @type {Record<string, {far?: string, edge?: string}>} */ ({}), // to cut at, by piece
  printed: "", width: "", fold: "none", nap: false,
}; // prettier-ignore

/** Nothing asked of another drawing. */
function fresh() {
  return { file: room.file, around: 0, longer: 0, taper: 100, to: {}, pieces: [], match: false, places: {}, printed: "" };
}

/** @param {HTMLElement} here @param {import("./view.js").View} on */
export function enter(here, on) {
  [panel, view] = [here, on];
  failure = found = null;
  worked = [];
  view.over = [changedPages, changedSeams];
  if (wishes.file !== room.file) Object.assign(wishes, fresh());
  show(true);
  preview();
  render();
}

/** @param {string} what */
export function update(what) {
  if (what === "scene") {
    if (wishes.file !== room.file) Object.assign(wishes, fresh());
    found = null;
    worked = [];
    show(true);
    preview();
  }
  if (what === "jobs") follow();
  if (what === "files" && compared !== printedFile()) preview(); // the pages were made, or are gone
  if (["scene", "seen", "jobs", "files"].includes(what)) render();
}

/** Before in grey, after in colour. @param {boolean} [fit] */
function show(fit = false) {
  if (!room.scene) return view.show([]);
  const after = found?.scene;
  if (!after) return view.show([{ scene: room.scene }], fit);
  const [altered, before] = [new Set(found.altered), found.before ?? room.scene];
  const touched = (/** @type {any} */ scene) => (/** @type {any} */ mark) => altered.has(scene.pieces[mark.p]?.id);
  const [was, is] = [touched(before), touched(after)];
  view.show([
    { scene: before, paint: (mark) => (was(mark) ? "#a9b1b5" : null) },
    { scene: after, paint: (mark) => (is(mark) ? "#b4472e" : "") },
  ], fit); // prettier-ignore
}

/** What is asked for, or null for nothing. */
function alteration() {
  const to = Object.fromEntries(Object.entries(wishes.to).map(([name, text]) => [name, parse(text)]).filter(([, mm]) => mm !== null));
  const fits = Object.keys(to).length > 0;
  const places = Object.entries(wishes.places).flatMap(([piece, { far = "", edge }]) => {
    const distance_mm = parse(far);
    return distance_mm === null ? [] : { piece, distance_mm, edge: edge ?? edgesOf(piece)[0] };
  });
  if (!wishes.around && !wishes.longer && !fits) return null;
  return {
    ...(wishes.around && !fits && { around_mm: wishes.around }), ...(wishes.longer && { longer_mm: wishes.longer }),
    ...(fits && { to }), ...(wishes.taper !== 100 && (wishes.around || fits) && { taper: wishes.taper / 100 }),
    ...(wishes.pieces.length && { pieces: wishes.pieces }), ...(wishes.match && { match: true }),
    ...(places.length && { places }),
  }; // prettier-ignore
}

let asked = 0;
let compared = ""; // the printed pages that were asked about
/** @type {{wanted: any, scene: any}[]} the last two that were worked out, to draw by while a slider moves */
let worked = [];

/** The lines of an amount that isn't worked out yet, from two that were. @param {any} wanted */
function foreseen(wanted) {
  if (worked.length < 2) return null;
  const apart = (/** @type {any} */ one, /** @type {any} */ other) =>
    [...new Set([...Object.keys(one), ...Object.keys(other)])].filter((key) => JSON.stringify(one[key]) !== JSON.stringify(other[key]));
  const [first, last] = worked;
  const keys = apart(first.wanted, last.wanted);
  const key = keys[0];
  if (keys.length !== 1 || apart(last.wanted, wanted).some((other) => other !== key)) return null;
  return between(first.scene, last.scene, (wanted[key] - first.wanted[key]) / (last.wanted[key] - first.wanted[key]));
}

async function preview() {
  const number = (asked += 1);
  const wanted = alteration();
  if (!room.scene || !wanted) {
    compared = printedFile();
    if (found) {
      found = null;
      show();
    }
    failure = null;
    return render();
  }
  const scene = found && foreseen(wanted);
  if (scene) {
    found = { ...found, scene };
    show();
  }
  try {
    const printed = (compared = printedFile());
    const told = await api.post("/api/ask", {
      file: room.file, what: "preview", tab: TAB, printed,
      values: { alteration: wanted, reading: room.reading, ...(printed && { with_pages: true }) },
    }); // prettier-ignore
    if (number !== asked) return; // a newer one is on its way
    found = told;
    worked = [...worked.filter((one) => JSON.stringify(one.wanted) !== JSON.stringify(wanted)).slice(-1), { wanted, scene: told.scene }];
    failure = null;
  } catch (thrown) {
    if (api.overtaken(thrown)) return;
    failure = api.failureOf(thrown);
    found = null;
  }
  show();
  render();
}

/** @param {Partial<typeof wishes>} more */
function wish(more) {
  Object.assign(wishes, more);
  void preview();
}

/** The pages that were printed, as chosen or by their name. */
function printedFile() {
  const names = room.files.filter((one) => one.printed).map((one) => one.name);
  if (names.includes(wishes.printed)) return wishes.printed;
  return names.includes(named("-pages.pdf")) ? named("-pages.pdf") : "";
}

function render() {
  if (!room.file) return fill(panel, h("p", {}, "Open a drawing first."), button("Open a drawing", () => go({ place: "drawing" }), { class: "main" }));
  fill(panel, h("h2", {}, "Alter"), room.failure && problem(room.failure), sliders(), problem(failure, remedies(failure?.remedy)), placesToCut(), outcome(), mainAction(), cutting());
}

/** @param {string} id @param {string} label @param {"around" | "longer"} key @param {[string, string]} words */
function slider(id, label, key, [more, less]) {
  const step = units() === "cm" ? 1 : 25.4 / 8;
  const now = wishes[key];
  const said = h("output", { for: id }, now ? `${inWords(Math.abs(now))} ${now > 0 ? more : less}` : "as drawn");
  return h("div", { class: "field" }, h("label", { for: id }, `${label}: `, said),
    h("input", { type: "range", id, min: -FARTHEST, max: FARTHEST, step, value: now, oninput: (/** @type {any} */ event) => {
      const value = Math.abs(event.target.value) < step / 2 ? 0 : Number(event.target.value);
      said.textContent = value ? `${inWords(Math.abs(value))} ${value > 0 ? more : less}` : "as drawn";
      wish({ [key]: value });
    } })); // prettier-ignore
}

function sliders() {
  const list = room.seen?.lines.pieces ?? [];
  const measures = Object.entries(room.seen?.measures ?? {});
  return h("section", {},
    slider("around", "Around", "around", ["wider", "narrower"]),
    slider("longer", "Length", "longer", ["longer", "shorter"]),
    measures.length > 0 && fold("Or to fit measures", Object.keys(wishes.to).length > 0, h("div", { class: "pair" }, measures.map(([name, mm]) =>
      field(sentence(name), h("input", { type: "text", id: `to-${name}`, value: wishes.to[name] ?? "", placeholder: `drawn for ${bare(Number(mm))}`, oninput: (/** @type {any} */ event) => {
        const to = { ...wishes.to, [name]: event.target.value };
        if (!event.target.value.trim()) delete to[name];
        wish({ to });
      } }))))),
    fold("How", wishes.pieces.length > 0 || wishes.match || wishes.taper !== 100,
      h("div", { class: "field" }, h("label", { for: "taper" }, `At the grading line’s other end: ${wishes.taper} % of it`),
        h("input", { type: "range", id: "taper", min: 0, max: 100, step: 5, value: wishes.taper, oninput: (/** @type {any} */ e) => wish({ taper: Number(e.target.value) }) })),
      tick("Let pieces sewn to these follow", wishes.match, (match) => wish({ match }), "match"),
      list.length > 1 && h("fieldset", {}, h("legend", {}, "Only these pieces"), list.map((/** @type {any} */ one) =>
        tick(one.title.value || one.id, wishes.pieces.includes(one.id), (on) =>
          wish({ pieces: on ? [...wishes.pieces, one.id] : wishes.pieces.filter((id) => id !== one.id) }), `only-${one.id}`))))); // prettier-ignore
}

/** The edges of a piece that a place to cut at is told from. @param {string} piece @returns {string[]} */
function edgesOf(piece) {
  const found = room.seen?.lines.pieces.find((/** @type {any} */ one) => one.id === piece);
  const names = (found?.edges ?? []).map((/** @type {any} */ edge) => edge.name?.value).filter(Boolean);
  return [...new Set([...names, "top", "bottom", "left", "right"])];
}

/** What to say of a length that can't be read. @param {string | undefined} text */
function lengthWanted(text) {
  return text?.trim() && parse(text) === null ? "Write a length, such as 30 cm." : "";
}

/** Where to cut a piece in which no line is drawn for it. */
function placesToCut() {
  const change = (/** @type {string} */ id, /** @type {any} */ more) => wish({ places: { ...wishes.places, [id]: { ...wishes.places[id], ...more } } });
  return fold("Where to cut", Boolean(failure?.remedy?.action.startsWith("DRAW_CUT_LINE") || Object.keys(wishes.places).length),
    h("p", { class: "small" }, "A piece without a line for it is cut straight through, so far from an edge. Leave empty what stays as it is."),
    (room.seen?.lines.pieces ?? []).map((/** @type {any} */ one) => h("div", { class: "pair" },
      field(`Cut ${one.title.value || one.id} at`, h("input", { type: "text", id: `cut-${one.id}`, value: wishes.places[one.id]?.far ?? "", placeholder: inWords(300), oninput: (/** @type {any} */ e) => change(one.id, { far: e.target.value }) }), lengthWanted(wishes.places[one.id]?.far)),
      field("from the", choice(edgesOf(one.id).map((name) => [name, name]), wishes.places[one.id]?.edge ?? "", (edge) => change(one.id, { edge }), `edge-${one.id}`))))); // prettier-ignore
}

/** What the alteration does. */
function outcome() {
  if (!found) return null;
  const { reprint } = found;
  const moved = found.seams.filter(seamChanged);
  const count = reprint ? reprint.replace.length + reprint.add.length : 0;
  return h("section", {},
    reprint && h("p", { class: "big", id: "again" }, reprint.every_page_because ? "Every page again" : `${plural(count, "page")} to print again`),
    reprint?.every_page_because && h("p", {}, `${sentence(reprint.every_page_because)}.`),
    reprint && h("p", { class: "small" }, [count && [...reprint.replace, ...reprint.add].join(" "), `${plural(reprint.keep.length, "page")} stay${reprint.keep.length === 1 ? "s" : ""} as taped`].filter(Boolean).join("; "), "."),
    h("ul", {}, found.sums.map((/** @type {string} */ one) => h("li", {}, sentence(one)))),
    findings(found.findings, remedies),
    moved.length > 0 && seamsTable(moved)); // prettier-ignore
}

/** What can be done, as a button. @param {import("./api.js").Remedy | null | undefined} remedy */
function remedies(remedy) {
  /** @type {Record<string, () => any>} */
  const known = {
    ALTER_PARTNER: () => !wishes.match && button("Let the pieces sewn to it follow", () => wish({ match: true })),
    ALTER_ALONE_OR_FOLLOW: () => !wishes.match && button("Let it follow", () => wish({ match: true })),
    LARGER_TAPER: () => button("Open it evenly", () => wish({ taper: 100 })),
    AROUND_OR_MEASURES: () => button("Go by the measures", () => wish({ around: 0 })),
    GIVE_AMOUNTS: () => button("Go by amounts", () => wish({ to: {} })),
    DRAW_CUT_LINE: () => button("Say which lines they are", () => go({ place: "lines" })),
    DRAW_CUT_LINE_AS: () => known.DRAW_CUT_LINE(),
  };
  return (remedy && known[remedy.action]?.()) || null;
}

/** @param {any} seam */
function seamChanged(seam) {
  return [0, 1].some((side) => Math.abs(seam.after_mm[side] - seam.before_mm[side]) > SHIFT);
}

function mainAction() {
  const names = room.files.filter((one) => one.printed).map((one) => one.name);
  const printed = printedFile();
  const drawing = named("-altered.svg");
  const running = jobsOf("alter", "reprint").concat(jobsAbout(drawing)).slice(0, 3);
  return h("section", {},
    names.length > 0 && field("The pages you taped", choice([["", "none yet"], ...names.map((name) => /** @type {[string, string]} */ ([name, name]))], printed, (file) => wish({ printed: file }), "printed")),
    refusal("alter", "reprint"),
    button(printed ? "Make the changed pages" : "Make the altered drawing", () => makeChanged(printed, drawing), { class: "main", disabled: !found }),
    !printed && h("p", { class: "small" }, "Pages printed here before are found in the folder; then only those that change are made."),
    running.map((job) => card(job, job.result && jobWords(job)))); // prettier-ignore
}

/** @param {string} drawing */
function jobsAbout(drawing) {
  return room.jobs.filter((one) => one.job === "reprint" && one.about === drawing).reverse();
}

/** @param {any} job */
function jobWords(job) {
  if (job.job === "alter") return h("p", {}, `The altered drawing${job.made.length > 1 ? " with its notes" : ""}.`, " ", button("Open it", () => go({ place: "drawing", file: job.made[0] }), { class: "quiet" }));
  const { replace, add, remove } = job.result;
  return [h("p", {}, [replace.length && `Lift ${replace.join(" ")} and tape the new ones there.`, add.length && `New: ${add.join(" ")}.`, remove.length && `No longer needed: ${remove.join(" ")}.`].filter(Boolean).join(" ") || "Nothing changed on any page."), findings(job.result.findings)];
}

/** @param {string} printed @param {string} drawing */
async function makeChanged(printed, drawing) {
  const wanted = alteration();
  next = null;
  const job = await begin("alter", { alteration: wanted }, drawing);
  if (job && printed) next = { alter: job.id, printed, drawing };
  follow();
}

/** When the altered drawing is there, make its changed pages. */
function follow() {
  // A job that was refused for a file that was there may have begun under another name.
  const done = next && room.jobs.find((one) => one.id === next?.alter && one.state === "done");
  if (!done || !next) return;
  const { printed } = next;
  next = null;
  const file = done.made[0];
  void begin("reprint", {}, `${file.replace(/\.svg$/i, "")}-changed.pdf`, { file, printed, reading: {} });
}

function cutting() {
  const lays = () => {
    const width = wishes.width ? parse(wishes.width) : null;
    return width ? { lays: { widths_mm: { "": width }, fold: wishes.fold, nap: wishes.nap } } : {};
  };
  const width = wishes.width ? parse(wishes.width) : null;
  const wrong = wishes.width && width === null;
  const lists = jobsOf("cloth").slice(0, 1);
  return h("section", {}, h("h2", {}, "Cut and sew"),
    h("div", { class: "pair" },
      field("Width of the cloth", h("input", { type: "text", id: "cloth-width", value: wishes.width, placeholder: units() === "cm" ? "140 cm" : "54 in", onchange: (/** @type {any} */ e) => { wishes.width = e.target.value; render(); } }), wrong ? "Write a length, such as 140 cm." : ""),
      field("Laid", choice([["none", "opened out"], ["lengthwise", "folded, selvedges together"]], wishes.fold, (value) => { wishes.fold = value; }, "cloth-fold"))),
    tick("It has a nap, or a print one way up", wishes.nap, (on) => { wishes.nap = on; }, "nap"),
    h("div", { class: "row" },
      button("List what to cut and buy", () => begin("cloth", { units: units(), ...lays() }, width ? named("-lay.pdf") : ""), { disabled: Boolean(wrong) }),
      button("Make the booklet", () => begin("guide", { units: units(), ...(printedFile() ? {} : pageChoice()), ...lays() }, named("-guide.pdf"), printedFile() ? { printed: printedFile() } : {}), { disabled: Boolean(wrong) })),
    refusal("cloth", "guide"),
    jobsOf("guide").slice(0, 1).map((job) => card(job, job.result && findings(job.result.findings))),
    lists.map((job) => (job.state === "done" ? [card(job), cuttingList(job.result)] : card(job)))); // prettier-ignore
}

/** @type {import("./view.js").Over} */
function changedPages(context, on) {
  const reprint = found?.reprint;
  if (!reprint) return;
  const px = 1 / on.at.scale;
  const fresh = new Set([...reprint.replace, ...reprint.add]);
  context.font = `600 ${12 * px}px system-ui, sans-serif`;
  for (const tile of reprint.grid) {
    const [x0, y0, x1, y1] = tile.window_mm;
    context.strokeStyle = "rgb(34 72 90 / .35)";
    context.lineWidth = px;
    context.strokeRect(x0, y0, x1 - x0, y1 - y0);
    if (!fresh.has(tile.name)) continue;
    context.fillStyle = "rgb(180 71 46 / .13)";
    context.fillRect(x0, y0, x1 - x0, y1 - y0);
    if (x1 - x0 > 30 * px) {
      context.fillStyle = "#8c331d";
      context.fillText(tile.name, x0 + 14 * px, y0 + 22 * px);
    }
  }
}

/** Seams whose sides no longer agree, on the altered pieces. @type {import("./view.js").Over} */
function changedSeams(context, on) {
  if (!found) return;
  const names = new Set();
  for (const seam of found.seams) {
    if (Math.abs(seam.grew_mm) <= SHIFT) continue;
    for (const side of [seam.first, seam.second]) for (const name of side.split(" + ")) names.add(name);
  }
  if (!names.size) return;
  context.strokeStyle = "#d81b60";
  context.lineWidth = 4 / on.at.scale / 0.01;
  context.globalAlpha = 0.7;
  context.lineCap = "round";
  context.scale(0.01, 0.01);
  for (const mark of found.scene.marks) {
    if (names.has(`${found.scene.pieces[mark.p]?.id}.${mark.n}`)) context.stroke((mark.path ??= new Path2D(mark.d)));
  }
}
