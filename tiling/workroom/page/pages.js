// The place "Pages": paper and grid over the drawing, its page count at once, then the pages themselves.
// @ts-check
import * as api from "./api.js";
import { button, choice, field, fill, fold, h, plural, problem, tick } from "./dom.js";
import { go } from "./go.js";
import { begin, card, findings, refusal } from "./jobs.js";
import { inWords, parse } from "./lengths.js";
import { jobsOf, named, room } from "./store.js";

/** @type {HTMLElement} */
let panel;
/** @type {import("./view.js").View} */
let view;
/** @type {any} */
let plan = null;
/** @type {import("./api.js").Failure | null} */
let failure = null;
let tooSmall = "";

const TAB = Math.random().toString(36).slice(2);
const wishes = { paper: localStorage.getItem("paper") ?? "a4", orientation: "auto", overlap: "", printer: "", arrange: false, turn: "any" };

/** @param {HTMLElement} here @param {import("./view.js").View} on */
export function enter(here, on) {
  [panel, view] = [here, on];
  view.over = [grid];
  view.show(room.scene ? [{ scene: room.scene, alpha: 0.85 }] : [], true);
  plan = failure = null;
  count();
  render();
}

/** @param {string} what */
export function update(what) {
  if (what === "scene") {
    view.show(room.scene ? [{ scene: room.scene, alpha: 0.85 }] : [], true);
    plan = null;
    count();
  }
  if (what !== "phone" && what !== "away") render();
}

/** What is asked for, as the jobs take it. */
export function pageChoice() {
  const overlap = wishes.overlap ? parse(wishes.overlap) : null;
  return {
    paper: wishes.paper, orientation: wishes.orientation,
    ...(overlap !== null && { overlap_mm: overlap }), ...(wishes.printer && { printer: wishes.printer }),
  }; // prettier-ignore
}

async function count() {
  if (!room.scene) return;
  tooSmall = wishes.overlap && parse(wishes.overlap) === null ? "Write the overlap as a length, such as 1 cm." : "";
  try {
    plan = await api.post("/api/ask", { file: room.file, what: "count", tab: TAB, values: { ...pageChoice(), reading: room.reading } });
    failure = null;
  } catch (thrown) {
    if (api.overtaken(thrown)) return;
    failure = api.failureOf(thrown);
    plan = null;
  }
  render();
  view.draw();
}

/** @param {Partial<typeof wishes>} more */
function wish(more) {
  Object.assign(wishes, more);
  localStorage.setItem("paper", wishes.paper);
  if (view) void count();
  render();
}

function render() {
  if (!room.file) return fill(panel, h("p", {}, "Open a drawing first."), button("Open a drawing", () => go({ place: "drawing" }), { class: "main" }));
  const output = named("-pages.pdf");
  fill(
    panel,
    h("h2", {}, "Pages to print and tape"),
    room.failure && problem(room.failure),
    plan && !wishes.arrange && h("p", { class: "big", id: "count" }, plural(plan.pages, "page")),
    plan && !wishes.arrange && h("p", { class: "small" }, `${plural(plan.rows, "row")} of ${plan.columns}, overlapping by ${inWords(plan.overlap_mm)}; before them a page with the test square and the map.`),
    wishes.arrange && h("p", {}, "How many pages it needs shows when the pieces are laid."),
    problem(failure),
    refusal("pages"),
    button("Make pages", () => begin("pages", options(), output), { class: "main", disabled: !room.scene || Boolean(failure) }),
    jobsOf("pages").slice(0, 3).map((job) => card(job, job.result && made(job.result))),
    h("div", { class: "pair" },
      field("Paper", choice(papers(), wishes.paper, (paper) => wish({ paper }), "paper")),
      field("Lying", choice([["auto", "as it needs fewest"], ["portrait", "upright"], ["landscape", "on its side"]], wishes.orientation, (orientation) => wish({ orientation }), "orientation"))),
    h("div", { class: "pair" },
      field("Overlap", h("input", { type: "text", id: "overlap", value: wishes.overlap, placeholder: plan ? inWords(plan.overlap_mm) : "", oninput: (/** @type {any} */ e) => wish({ overlap: e.target.value }) }), tooSmall),
      field("Printer", choice(printers(), wishes.printer, (printer) => wish({ printer }), "printer"))),
    fold("Save paper", wishes.arrange,
      tick("Lay the pieces anew, as close as they go", wishes.arrange, (arrange) => wish({ arrange }), "arrange"),
      wishes.arrange && field("They may be turned", choice([["any", "any way: paper has no grain"], ["half", "upside down only"], ["none", "not at all"]], wishes.turn, (turn) => wish({ turn }), "turn"))),
    h("p", { class: "small" }, "Print at 100 %, called “actual size” or “do not scale”. Print the first page alone, check its square under ", button("Printer", () => go({ place: "printer" }), { class: "quiet" }), ", then the rest."),
  ); // prettier-ignore
}

function options() {
  return { ...pageChoice(), ...(wishes.arrange && { arrange: { turn: wishes.turn } }) };
}

/** @param {any} result */
function made(result) {
  return [h("p", {}, `${plural(result.pages, "sheet")} of ${result.paper.toUpperCase()}. Print the first, measure its square before you go on.`), findings(result.findings)];
}

/** @returns {[string, string][]} */
function papers() {
  const needed = room.seen?.look.pages_needed ?? [{ paper: wishes.paper }];
  return needed.map((/** @type {any} */ one) => [one.paper, `${paperWords(one.paper)}${one.pages ? ` · ${plural(one.pages, "page")}` : ""}`]);
}

/** @param {string} name */
function paperWords(name) {
  if (name === "both") return "A4 and letter alike";
  if (name.startsWith("roll:")) return `a roll of ${inWords(parse(name.slice(5)) ?? 0)}`;
  return /^a\d$/.test(name) ? name.toUpperCase() : name.replace("arch-", "Arch ").replace(/\b[a-z]$/, (letter) => letter.toUpperCase());
}

/** @returns {[string, string][]} */
function printers() {
  return [["", "not corrected"], ...room.printers.map((one) => /** @type {[string, string]} */ ([one.name, one.name]))];
}

/** The pages over the drawing; empty ones hatched. @type {import("./view.js").Over} */
function grid(context, on) {
  if (!plan || wishes.arrange) return;
  const px = 1 / on.at.scale;
  context.font = `600 ${13 * px}px system-ui, sans-serif`;
  for (const tile of plan.grid) {
    const [x0, y0, x1, y1] = tile.window_mm;
    if (tile.printed) {
      context.strokeStyle = "rgb(34 72 90 / .8)";
      context.lineWidth = 1.3 * px;
      context.strokeRect(x0, y0, x1 - x0, y1 - y0);
    } else hatch(context, tile.window_mm, px);
    const [x, y] = [(x0 + x1) / 2, (y0 + y1) / 2];
    if (x1 - x0 < 34 * px) continue;
    const wide = context.measureText(tile.name).width;
    context.fillStyle = tile.printed ? "rgb(34 72 90 / .85)" : "rgb(120 120 120 / .6)";
    context.beginPath();
    context.roundRect(x - wide / 2 - 5 * px, y - 10 * px, wide + 10 * px, 20 * px, 5 * px);
    context.fill();
    context.fillStyle = "#fff";
    context.fillText(tile.name, x - wide / 2, y + 4.5 * px);
  }
}

/** @param {CanvasRenderingContext2D} context @param {number[]} box @param {number} px */
function hatch(context, [x0, y0, x1, y1], px) {
  context.save();
  context.beginPath();
  context.rect(x0, y0, x1 - x0, y1 - y0);
  context.fillStyle = "rgb(120 120 120 / .12)";
  context.fill();
  context.clip();
  context.strokeStyle = "rgb(120 120 120 / .45)";
  context.lineWidth = px;
  context.beginPath();
  for (let at = x0 - (y1 - y0); at < x1; at += 14 * px) {
    context.moveTo(at, y1);
    context.lineTo(at + y1 - y0, y0);
  }
  context.stroke();
  context.restore();
}
