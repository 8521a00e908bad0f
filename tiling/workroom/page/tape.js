// The place "Tape": photos of the taped sheet, its joins lit up on the map of its pages, and which one to mend next.
// @ts-check
import * as api from "./api.js";
import { button, choice, field, fill, fold, h, plural, problem } from "./dom.js";
import { go } from "./go.js";
import { askPhone, invited } from "./invite.js";
import { room } from "./store.js";
import { table } from "./tables.js";
import { tapedAnswer } from "./taped.js";

/** @type {HTMLElement} */
let panel;
/** @type {import("./view.js").View} */
let view;
/** @type {any} the sheet that is shown */
let sheet = null;
/** @type {import("./api.js").Failure | null} */
let failure = null;
let forgotten = ""; // the last reading before pages were moved
const wishes = { printed: "", printer: "" };
const COLOURS = /** @type {Record<string, string>} */ ({ true: "#1d7a5f", slipped: "#c0391b", unsure: "#c98a00" });
const WORDS = /** @type {Record<string, string>} */ ({ true: "true", slipped: "slipped", unsure: "can’t be told" });

/** @param {HTMLElement} here @param {import("./view.js").View} on */
export function enter(here, on) {
  [panel, view] = [here, on];
  view.over = [pages, joins];
  failure = null;
  sheet = null;
  void open();
}

/** @param {string} what */
export function update(what) {
  if (what === "files" && !sheet) void open();
  else if (what !== "scene" && what !== "seen") render();
}

export function leave() {
  sheet = null;
  stage(Boolean(room.scene));
}

/** @param {boolean} shown whether something is to be seen */
function stage(shown) {
  document.getElementById("stage")?.classList.toggle("empty", !shown);
}

/** The files whose pages can have been taped. */
function printedFiles() {
  return room.files.filter((one) => one.printed).map((one) => one.name);
}

/** The one that was chosen, or the newest. */
function printed() {
  const names = printedFiles();
  if (names.includes(wishes.printed)) return wishes.printed;
  return room.files.filter((one) => one.printed).sort((one, other) => other.changed - one.changed)[0]?.name ?? "";
}

async function open() {
  const name = printed();
  failure = null;
  view.show([]);
  if (name) {
    try {
      const told = await api.get("/api/sheet", { file: name });
      if (document.body.dataset.here !== "tape" || name !== printed()) return;
      sheet = told;
      stage(true);
      view.show([{ scene: sheet.scene, alpha: 0.55 }], true);
    } catch (thrown) {
      failure = api.failureOf(thrown);
    }
  }
  render();
}

/** The photos' jobs since pages were moved, newest first. */
function readings() {
  const all = room.jobs.filter((one) => one.job === "taped" && one.about === printed());
  return all.slice(all.findIndex((one) => one.id === forgotten) + 1).reverse();
}

/** The newest answer. */
function answer() {
  return readings().find((one) => one.state === "done")?.result ?? null;
}

function render() {
  const name = printed();
  const names = printedFiles();
  if (!name) return fill(panel, h("h2", {}, "Is the sheet taped true?"), h("p", {}, "First make pages, print them and tape them."), button("Make pages", () => go({ place: "pages" }), { class: "main" }));
  const mine = room.phone.invited && room.phone.printed === name;
  fill(
    panel,
    h("h2", {}, "Is the sheet taped true?"),
    problem(failure),
    mine ? invited(invite, run) : h("div", {},
      button("Invite the phone", invite, { class: "main" }),
      h("p", { class: "small" }, "Before anything is cut: lay the sheet flat and take two photos of all of it, one from above each long side. The photos stay on this computer.")),
    readings().slice(0, 1).map((job) => tapedAnswer(job, `/api/jobs/${job.id}/picture`)),
    h("div", { class: "row" }, photoChooser(), readings().length > 0 && button("I moved pages: begin anew", forget)),
    forgotten && !readings().length && h("p", { role: "status" }, "The photos before are forgotten; take two new ones."),
    h("div", { class: "pair" },
      field("Pages that were taped", choice(names.map((one) => /** @type {[string, string]} */ ([one, one])), name, (file) => { wishes.printed = file; sheet = null; void open(); }, "taped-pages")),
      field("Printed by", choice([["", "not measured"], ...room.printers.map((one) => /** @type {[string, string]} */ ([one.name, one.name]))], wishes.printer, (printer) => { wishes.printer = printer; }, "taped-printer"))),
    every(),
  ); // prettier-ignore
  view.draw();
}

/** All ends of joins, the worst first. */
function every() {
  const told = answer();
  return told && fold(plural(told.joins.length, "end of a join", "ends of joins"), false,
    table(["Join", "End", "Slipped", ""], told.joins.map((/** @type {any} */ one) => [one.between.join(" to "), one.end, `${Math.hypot(...one.slip_mm).toFixed(1)} mm`, WORDS[one.verdict]]))); // prettier-ignore
}

/** @param {() => Promise<any>} does */
async function run(does) {
  failure = await api.tried(does);
  render();
}

function invite() {
  return run(() => askPhone({ printed: printed(), printer: wishes.printer }));
}

function forget() {
  return run(async () => {
    await api.remove("/api/taped");
    forgotten = readings()[0]?.id ?? "";
  });
}

function photoChooser() {
  return [
    h("input", { type: "file", id: "taped-file", class: "unseen", accept: "image/*", multiple: true, onchange: (/** @type {any} */ event) => {
      const files = [...event.target.files];
      event.target.value = "";
      void run(async () => {
        for (const file of files) await api.send("/api/taped", file, { printed: printed(), printer: wishes.printer });
      });
    } }),
    h("label", { class: "button", for: "taped-file" }, "Choose photos here"),
  ]; // prettier-ignore
}

/** Pages by name; those to be lifted next are shaded. @type {import("./view.js").Over} */
function pages(context, on) {
  if (!sheet) return;
  const px = 1 / on.at.scale;
  const next = new Set(answer()?.lifts[0]?.pages ?? []);
  const wrong = new Set((answer()?.pages ?? []).filter((/** @type {any} */ one) => one.missing || one.upside_down || (one.found_as && one.found_as !== one.name)).map((/** @type {any} */ one) => one.name));
  context.font = `600 ${13 * px}px system-ui, sans-serif`;
  context.textAlign = "center";
  for (const { name, box_mm: [x0, y0, x1, y1] } of sheet.tiles) {
    context.strokeStyle = "rgb(34 72 90 / .35)";
    context.lineWidth = px;
    context.strokeRect(x0, y0, x1 - x0, y1 - y0);
    if (next.has(name) || wrong.has(name)) {
      context.fillStyle = "rgb(192 57 27 / .14)";
      context.fillRect(x0, y0, x1 - x0, y1 - y0);
    }
    if (x1 - x0 < 30 * px) continue;
    context.fillStyle = next.has(name) || wrong.has(name) ? "#8c2a13" : "rgb(34 72 90 / .8)";
    context.fillText(name, (x0 + x1) / 2, (y0 + y1) / 2 + 4.5 * px);
  }
}

/** Every join, by halves, each as its end is: a full line where true, a broad one where it slipped, dashed in doubt. @type {import("./view.js").Over} */
function joins(context, on) {
  if (!sheet) return;
  const px = 1 / on.at.scale;
  const ends = new Map((answer()?.joins ?? []).map((/** @type {any} */ one) => [`${one.between} ${one.end}`, one.verdict]));
  const inset = 3 * px;
  context.lineCap = "butt";
  for (const { between, line_mm: [x0, y0, x1, y1] } of sheet.joins) {
    const upright = y1 - y0 > x1 - x0;
    const [x, y] = [(x0 + x1) / 2, (y0 + y1) / 2];
    for (const [end, from, to] of [[upright ? "upper" : "left", [x0, y0], [x, y]], [upright ? "lower" : "right", [x, y], [x1, y1]]]) {
      const verdict = ends.get(`${between} ${end}`) ?? ends.get(`${between} only`);
      context.strokeStyle = verdict ? COLOURS[verdict] : "rgb(90 100 110 / .35)";
      context.lineWidth = (verdict === "slipped" ? 7 : verdict ? 3.5 : 2) * px;
      context.setLineDash(verdict === "unsure" ? [7 * px, 5 * px] : []);
      context.beginPath();
      context.moveTo(from[0] + (upright ? 0 : inset), from[1] + (upright ? inset : 0));
      context.lineTo(to[0] - (upright ? 0 : inset), to[1] - (upright ? inset : 0));
      context.stroke();
    }
  }
  context.setLineDash([]);
}
