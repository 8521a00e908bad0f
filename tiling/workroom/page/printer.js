// The place "Printer": the test page, the phone that photographs it, a ruler, and what is known of each printer.
// @ts-check
import * as api from "./api.js";
import { button, choice, field, fill, fold, h, plural, problem, tick } from "./dom.js";
import { askPhone, invited } from "./invite.js";
import { begin, card, refusal } from "./jobs.js";
import { inWords, parse } from "./lengths.js";
import { jobsOf, room } from "./store.js";
import { table } from "./tables.js";
import { verdict } from "./verdict.js";

/** @type {HTMLElement} */
let panel;
/** @type {import("./view.js").View} */
let view;
/** @type {import("./api.js").Failure | null} */
let failure = null;
const wishes = { printer: "", paper: "a4", keep: false, across: "", down: "", corrected: false };

/** @param {HTMLElement} here @param {import("./view.js").View} on */
export function enter(here, on) {
  [panel, view] = [here, on];
  failure = null;
  show();
  render();
}

function show() {
  view.show(room.scene ? [{ scene: room.scene }] : [], true);
}

/** @param {string} what */
export function update(what) {
  if (what === "scene") show();
  if (what !== "away" && what !== "files") render();
}

function render() {
  const checks = jobsOf("check");
  fill(
    panel,
    h("h2", {}, "Does the printer tell the truth?"),
    problem(failure),
    room.phone.invited && !room.phone.printed ? invited(invite, run) : h("div", {},
      button("Invite the phone", invite, { class: "main" }),
      h("p", { class: "small" }, "Print the test page at 100 %, then photograph it. The phone needs to be on the same network at home; the photo goes to this computer and nowhere else.")),
    checks.slice(0, 2).map((job) => h("div", {}, verdict(job, `/api/jobs/${job.id}/picture`), kept(job))),
    refusal("testpage"),
    jobsOf("testpage").slice(0, 1).map((job) => card(job, h("p", {}, "Print it at 100 %, lay a card blank side up in its outline."))),
    h("div", { class: "row" }, button("Make the test page", makePage), photoChooser()),
    h("div", { class: "pair" },
      field("Keep the result for", h("input", { type: "text", id: "printer-name", list: "known-printers", value: wishes.printer, maxLength: 60, placeholder: "its name", autocomplete: "off", onchange: (/** @type {any} */ e) => { wishes.printer = e.target.value.trim(); } })),
      field("Test page on", choice([["a4", "A4"], ["letter", "letter"], ["legal", "legal"], ["a5", "A5"]], wishes.paper, (paper) => { wishes.paper = paper; }, "test-paper"))),
    tick("Keep the photos too, without place and time", wishes.keep, (on) => { wishes.keep = on; }, "keep-photos"),
    ruler(),
    known(),
  ); // prettier-ignore
}

/** @param {any} job */
function kept(job) {
  return job.result?.keep && h("p", { class: "small" }, `Kept for ${job.result.keep.printer}: choose it under Pages, and they are corrected.`);
}

/** @param {() => Promise<any>} does */
async function run(does) {
  failure = await api.tried(does);
  render();
}

function asked() {
  return { printer: wishes.printer, paper: wishes.printer ? wishes.paper : "" };
}

function invite() {
  return run(() => askPhone({ ...asked(), keep_photos: wishes.keep }));
}

function makePage() {
  const printer = room.printers.some((one) => one.name === wishes.printer) ? wishes.printer : null;
  return begin("testpage", { paper: wishes.paper, printer }, "testpage.pdf");
}

function photoChooser() {
  return [
    h("input", { type: "file", id: "photo-file", class: "unseen", accept: "image/*", onchange: (/** @type {any} */ event) => {
      const file = event.target.files[0];
      if (file) void run(() => api.send("/api/photo", file, asked()));
    } }),
    h("label", { class: "button", for: "photo-file" }, "Choose a photo here"),
  ]; // prettier-ignore
}

function ruler() {
  const side = (/** @type {"across" | "down"} */ key, /** @type {string} */ label) =>
    field(label, h("input", { type: "text", id: `ruler-${key}`, inputMode: "decimal", value: wishes[key], placeholder: "99.5 mm", oninput: (/** @type {any} */ e) => { wishes[key] = e.target.value; } })); // prettier-ignore
  return fold("Measured with a ruler instead", Boolean(wishes.across), h("form", { onsubmit: (/** @type {Event} */ event) => {
    event.preventDefault();
    const [across, down] = [parse(wishes.across), parse(wishes.down)];
    void run(async () => {
      if (across === null || down === null) throw new api.Refused({ what: "write both sides of the square as the ruler shows them, such as 99.5 mm.", code: 2, remedy: null }, 0);
      await api.post("/api/ruler", { ...asked(), ruler: { across_mm: across, down_mm: down, corrected: wishes.corrected } });
    });
  } }, h("p", { class: "small" }, "The two sides of the 100 mm square, the page upright."),
    h("div", { class: "pair" }, side("across", "Across"), side("down", "Down")),
    tick("The page was corrected for this printer already", wishes.corrected, (on) => { wishes.corrected = on; }, "corrected"),
    h("button", {}, "Reckon"))); // prettier-ignore
}

function known() {
  const names = h("datalist", { id: "known-printers" }, room.printers.map((one) => h("option", { value: one.name })));
  if (!room.printers.length) return names;
  return fold(plural(room.printers.length, "printer that is known", "printers that are known"), true, names, room.printers.map((one) =>
    h("section", {}, h("h3", {}, one.name), table(["Across", "Down", "Paper, by"], [one.latest, ...one.history.slice(0, 5)].map(reading)),
      one.border && h("p", { class: "small" }, `Not printed at the edges: ${["left", "top", "right", "bottom"].map((side) => `${inWords(one.border[side])} ${side}`).join(", ")}.`),
      button(`Forget ${one.name}`, () => run(() => api.remove(`/api/printers/${encodeURIComponent(one.name)}`)))))); // prettier-ignore
}

/** @param {any} one */
function reading(one) {
  return [...["across", "down"].map((key) => `${(one[key] * 100).toFixed(2)} %`), `${one.paper}, ${one.reference}${one.date ? `, ${one.date}` : ""}`];
}
