// A measured printer in words, as both screens show it.
// @ts-check
import { h, sentence } from "./dom.js";

const HEAD = /** @type {Record<string, string>} */ ({
  true: "This printer tells the truth", rescaled: "This print is not its true size", "not sure": "Not sure enough yet",
}); // prettier-ignore

/** @param {number} share */
function percent(share) {
  return `${(share * 100).toFixed(2)} %`;
}

/** That a photo is being read. */
export function waiting() {
  return h("div", { class: "finding" }, h("p", { role: "status" }, "Reading the photo …"), h("progress", { "aria-label": "Reading the photo" }));
}

/** Why a photo was not read, and what to do. @param {any} job */
export function refused(job) {
  const why = job.error?.refusal;
  const words = why ? why.detail || why.reason : job.error?.what ?? "Cancelled.";
  return h("div", { class: "problem", role: "alert" },
    h("p", { class: "verdict" }, why ? `No measurement: ${why.reason}` : "That can't be read"),
    h("p", {}, sentence(words), words.endsWith(".") ? "" : "."),
    why?.advice && h("p", {}, h("b", {}, "Next: "), `${sentence(why.advice)}.`)); // prettier-ignore
}

/**
 * What a photo or a ruler said.
 * @param {any} job @param {string} picture where the picture of what was found is
 */
export function verdict(job, picture) {
  const image = job.picture && h("img", { class: "seen", src: picture, alt: "The photo with what was found on it drawn over it" });
  if (job.state === "waiting" || job.state === "running") return waiting();
  if (job.state !== "done") return h("div", {}, refused(job), image);
  const told = job.result;
  const good = told.verdict === "true";
  return h("div", {}, h("div", { class: good ? "good" : "problem", role: good ? "status" : "alert" },
    h("p", { class: "verdict" }, HEAD[told.verdict]),
    h("p", {}, `Across ${percent(told.across)} (± ${(told.uncertainty_across * 100).toFixed(2)}), down ${percent(told.down)} (± ${(told.uncertainty_down * 100).toFixed(2)}).`),
    !good && told.consequence && h("p", {}, `That means: ${told.consequence}.`),
    told.cause && h("p", {}, `Likely cause: ${told.cause}.`),
    h("p", {}, h("b", {}, "Next: "), `${sentence(told.next_step).replace(/\.$/, "")}.`)),
  image,
  h("details", {}, h("summary", {}, "What this rests on"),
    h("p", { class: "small" }, `${sentence(told.rests_on)}. The ± ${told.coverage}.`),
    told.notes.map((/** @type {string} */ note) => h("p", { class: "small" }, `${sentence(note)}.`.replace("..", "."))))); // prettier-ignore
}
