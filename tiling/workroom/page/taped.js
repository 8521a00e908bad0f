// What photos of the taped sheet say, in words, as both screens show it.
// @ts-check
import { h, plural, sentence } from "./dom.js";
import { refused, waiting } from "./verdict.js";

/**
 * What to do next, and what else was found.
 * @param {any} job @param {string} picture where the picture of what was found is
 */
export function tapedAnswer(job, picture) {
  if (job.state === "waiting" || job.state === "running") return waiting();
  const image = job.picture && h("img", { class: "seen", src: picture, alt: "The photo with arrows where pages slipped" });
  if (job.state !== "done") return h("div", {}, refused(job), image);
  const { words, photos } = job.result;
  const todo = [...words.pages, ...words.lifts];
  return h("div", {}, h("div", { class: todo.length ? "problem" : "good", role: todo.length ? "alert" : "status" },
    h("p", { class: "verdict" }, todo.length ? plural(todo.length, "thing to mend", "things to mend") : "Nothing to mend"),
    todo.length > 0 && h("p", {}, h("b", {}, "Next: "), end(todo[0])),
    h("p", { class: "small" }, end(words.summary)),
    words.next_step.map((/** @type {string} */ line) => h("p", { class: todo.length ? "small" : null }, end(line)))),
  todo.length > 1 && h("details", { open: todo.length < 5 }, h("summary", {}, "Then"), h("ol", { start: 2 }, todo.slice(1).map((/** @type {string} */ line) => h("li", {}, end(line))))),
  (words.seams.length > 0 || words.distances.length > 0) && h("details", { open: words.seams.length > 0 }, h("summary", {}, "What it does to seams and lengths"), [...words.seams, ...words.distances].map((line) => h("p", { class: "small" }, end(line)))),
  h("p", { class: "small" }, `Read from ${plural(photos.length, "photo")}.`, words.size_unknown && " How large the sheet is no photo tells; choose the printer, once it was measured."),
  image); // prettier-ignore
}

/** As a sentence. @param {string} line */
function end(line) {
  return `${sentence(line)}.`;
}
