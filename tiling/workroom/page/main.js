// The workroom's page: its places about one drawing.
// @ts-check
import { button, byId, choice, fill, h } from "./dom.js";
import { go } from "./go.js";
import { setUnits, units } from "./lengths.js";
import { about, listen, onChange, readDrawing, refresh, room } from "./store.js";
import { View } from "./view.js";
import * as drawing from "./drawing.js";
import * as lines from "./lines.js";
import * as pages from "./pages.js";
import * as printer from "./printer.js";
import * as sew from "./sew.js";
import * as tape from "./tape.js";

/**
 * @typedef {object} Place
 * @property {(panel: HTMLElement, view: View) => void} enter
 * @property {(what: string) => void} update told what changed
 * @property {() => void} [leave]
 */

/** @type {Record<string, Place>} */
const places = { drawing, lines, pages, printer, tape, sew };
const view = new View(byId("canvas"));
let here = "";

function fromAddress() {
  const query = new URLSearchParams(location.search);
  const file = query.get("file") ?? "";
  let reading = {};
  try {
    reading = JSON.parse(query.get("reading") ?? "{}");
  } catch {
    // as drawn
  }
  const other = file !== room.file || JSON.stringify(reading) !== JSON.stringify(room.reading);
  room.file = file;
  room.reading = reading;
  const place = location.pathname.slice(1);
  if (place !== here) enter(place in places ? place : "drawing");
  if (other) {
    room.scene = room.seen = null;
    view.show([]);
    void readDrawing();
  }
}

/** @param {string} place */
function enter(place) {
  places[here]?.leave?.();
  here = place;
  document.body.dataset.here = place;
  for (const link of document.querySelectorAll("nav a")) {
    if (link instanceof HTMLAnchorElement && link.dataset.place === place) {
      link.setAttribute("aria-current", "page");
      byId("title").textContent = link.textContent;
      document.title = `${link.textContent} · pageseam workroom`;
    } else link.removeAttribute("aria-current");
  }
  view.over = [];
  view.onpick = () => {};
  view.around = (box) => box;
  byId("stage").classList.remove("picking");
  fill(byId("note"));
  const panel = byId("panel");
  fill(panel);
  panel.scrollTop = 0;
  places[here].enter(panel, view);
  view.draw();
}

function header() {
  const drawings = room.files.filter((one) => !one.printed);
  const names = drawings.map((one) => /** @type {[string, string]} */ ([one.name, one.name]));
  if (!names.some(([name]) => name === room.file)) names.unshift([room.file, room.file || "No drawing open"]);
  const open = choice(names, room.file, (file) => go({ file }), "drawing-open");
  open.setAttribute("aria-label", "Drawing");
  const unit = choice([["cm", "cm"], ["in", "inches"]], units(), (value) => {
    setUnits(value === "in" ? "in" : "cm");
    enter(here);
  }, "units"); // prettier-ignore
  unit.setAttribute("aria-label", "Units");
  fill(byId("open"), open, unit);
}

function tools() {
  fill(
    byId("tools"),
    button("−", () => view.zoom(0.8), { "aria-label": "Smaller" }),
    button("+", () => view.zoom(1.25), { "aria-label": "Larger" }),
    button("All", () => view.fit(), { "aria-label": "All of the drawing" }),
  );
}

function away() {
  document.querySelector(".away")?.remove();
  if (room.away) {
    const words = "The workroom doesn't answer. See whether it still runs in its window, then open it again there.";
    byId("panel").closest("main").before(h("p", { class: "away", role: "alert" }, words));
  }
}

onChange((what) => {
  if (what === "files" || what === "scene") header();
  if (what === "away") away();
  if (what === "scene") {
    const { scene } = room;
    byId("stage").classList.toggle("empty", !scene);
    byId("canvas").setAttribute("aria-label", scene ? `The drawing ${room.file}; move it with the arrow keys, zoom with + and −` : "No drawing is open yet");
  }
  places[here]?.update(what);
});

document.addEventListener("click", (event) => {
  const link = event.target instanceof Element ? event.target.closest("nav a") : null;
  if (!(link instanceof HTMLAnchorElement) || event.ctrlKey || event.metaKey || event.shiftKey || event.button) return;
  event.preventDefault();
  go({ place: link.dataset.place });
});
window.addEventListener("popstate", fromAddress);
document.addEventListener("dragover", (event) => event.preventDefault());
document.addEventListener("drop", (event) => {
  event.preventDefault();
  const file = event.dataTransfer?.files[0];
  if (file) void drawing.take(file);
});

tools();
header();
byId("stage").classList.add("empty");
fromAddress();
listen();
void refresh().catch(() => {});
// For trials of how smooth it is.
Object.assign(window, { pageseam: { view, room, about } });
