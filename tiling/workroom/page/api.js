// What the page asks of the workroom behind it.
// @ts-check

/**
 * @typedef {{action: string, values: string[], words: string}} Remedy
 * @typedef {{what: string, code: number, remedy: Remedy | null, kind?: string | null, refusal?: any}} Failure
 */

/** A request that was refused, with what the page shows of it. */
export class Refused extends Error {
  /** @param {Failure} failure @param {number} status */
  constructor(failure, status) {
    super(failure.what);
    this.failure = failure;
    this.status = status;
  }
}

/** @param {string} path @param {RequestInit} [how] @returns {Promise<any>} */
async function request(path, how) {
  let answer;
  try {
    answer = await fetch(path, how);
  } catch {
    const what = "the workroom doesn't answer; see whether it still runs in its window, and open it again.";
    throw new Refused({ what, code: 0, remedy: null, kind: "away" }, 0);
  }
  const text = await answer.text();
  const told = text ? JSON.parse(text) : null;
  if (!answer.ok) throw new Refused(told?.error ?? { what: answer.statusText, code: 0, remedy: null }, answer.status);
  return told;
}

/** @param {string} path @param {Record<string, any>} [query] */
export function get(path, query = {}) {
  const given = Object.entries(query).filter(([, value]) => value !== undefined && value !== "");
  const text = new URLSearchParams(given.map(([key, value]) => [key, String(value)])).toString();
  return request(text ? `${path}?${text}` : path);
}

/** @param {string} path @param {any} values */
export function post(path, values) {
  return request(path, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(values) });
}

/** @param {string} path @param {Blob} content @param {Record<string, any>} [query] */
export function send(path, content, query = {}) {
  const given = Object.entries(query).filter(([, value]) => value !== undefined && value !== "");
  const text = new URLSearchParams(given).toString();
  return request(text ? `${path}?${text}` : path, { method: "POST", body: content });
}

/** @param {string} path */
export function remove(path) {
  return request(path, { method: "DELETE" });
}

/** The failure of whatever was thrown. @param {unknown} thrown @returns {Failure} */
export function failureOf(thrown) {
  if (thrown instanceof Refused) return thrown.failure;
  return { what: `a fault of ours (${String(thrown)}).`, code: 1, remedy: null };
}

/** Do something; what went wrong, or null. @param {() => Promise<any>} does @returns {Promise<Failure | null>} */
export async function tried(does) {
  try {
    await does();
    return null;
  } catch (thrown) {
    return failureOf(thrown);
  }
}

/** Whether a newer question came before this one was answered. @param {unknown} thrown */
export function overtaken(thrown) {
  return thrown instanceof Refused && thrown.failure.kind === "overtaken";
}
