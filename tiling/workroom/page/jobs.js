// Jobs as they are shown wherever they were begun: how far they are, what they made, why they failed.
// @ts-check
import * as api from "./api.js";
import { button, h, problem, sentence } from "./dom.js";
import { changed, order } from "./store.js";

/** @type {{failure: import("./api.js").Failure, again: (output: string, more: any) => any, output: string, job: string} | null} */
let refused = null;

/**
 * Begin a job; where its file is there already, ask.
 * @param {string} job @param {any} options @param {string} output @param {any} [more]
 */
export async function begin(job, options, output, more = {}) {
  refused = null;
  try {
    return await order(job, options, output, more);
  } catch (thrown) {
    refused = { failure: api.failureOf(thrown), job, output, again: (name, extra) => begin(job, options, name, { ...more, ...extra }) };
    changed("jobs");
    return null;
  }
}

/** What to say of a job that could not begin. @param {...string} kinds */
export function refusal(...kinds) {
  if (!refused || !kinds.includes(refused.job)) return null;
  const { failure, again, output } = refused;
  if (failure.remedy?.action !== "REPLACE_OR_RENAME") return problem(failure);
  return problem(
    { ...failure, remedy: null },
    h("div", { class: "row" },
      button("Replace it", () => again(output, { replace: true })),
      button("Keep both", () => again(another(output), {})),
      button("Leave it", () => { refused = null; changed("jobs"); }, { class: "quiet" })),
  ); // prettier-ignore
}

/** The next name like this one: smock-pages-2.pdf. @param {string} name */
function another(name) {
  const found = /^(.*?)(?:-(\d+))?(\.[^.]+)$/.exec(name);
  return found ? `${found[1]}-${Number(found[2] ?? 1) + 1}${found[3]}` : `${name}-2`;
}

/** @param {any} job @param {any} [done] shown with what was made */
export function card(job, done) {
  const state = job.state;
  if (state === "waiting" || state === "running") {
    const step = job.step;
    const bar = h("progress", step ? { max: Math.max(step.total, 1), value: step.done, "aria-label": step.what } : { "aria-label": "Waiting" });
    return h("div", { class: "finding", id: `job-${job.id}` }, h("p", { role: "status" }, step ? `${step.what}: ${step.done} of ${step.total}` : "Beginning …"), bar,
      h("div", { class: "row" }, button("Cancel", () => api.remove(`/api/jobs/${job.id}`)))); // prettier-ignore
  }
  if (state === "failed") return problem(job.error);
  if (state === "cancelled") return h("div", { class: "finding" }, h("p", {}, "Cancelled; nothing was written."));
  return h("div", { class: "good" }, done, job.made.map(made));
}

/** A file that was made. @param {string} name */
function made(name) {
  const path = `/api/file/${encodeURIComponent(name)}`;
  const pdf = name.toLowerCase().endsWith(".pdf");
  return h("div", { class: "row" }, h("b", {}, name),
    pdf && h("a", { class: "button", href: `${path}?show=1`, target: "_blank", rel: "noopener" }, "Open to print"),
    h("a", { class: "button", href: path, download: name }, "Save a copy")); // prettier-ignore
}

/**
 * Findings of a result.
 * @param {any[] | undefined} list
 * @param {(remedy: import("./api.js").Remedy | null) => any} [remedies] what can be done about one, as buttons
 */
export function findings(list, remedies = () => null) {
  return (list ?? []).map((one) => h("div", { class: "finding" }, h("p", {}, sentence(one.where ? `${one.where}: ${one.text}` : one.text)), remedies(one.remedy)));
}
