// What the page knows, and who wants to be told when it changes.
// @ts-check
import * as api from "./api.js";

/**
 * @typedef {object} Room
 * @property {string} folder
 * @property {any[]} files
 * @property {string} file the drawing that is open
 * @property {Record<string, any>} reading how it is read
 * @property {any} scene
 * @property {any} seen
 * @property {import("./api.js").Failure | null} failure why it can't be shown
 * @property {any[]} jobs
 * @property {any[]} printers
 * @property {any} phone
 * @property {boolean} away whether the workroom doesn't answer
 */

/** @type {Room} */
export const room = {
  folder: "", files: [], file: "", reading: {}, scene: null, seen: null, failure: null, jobs: [], printers: [],
  phone: { invited: false, jobs: [] }, away: false,
}; // prettier-ignore

/** @type {Set<(what: string) => void>} */
const listeners = new Set();

/** Be told what changed: files, scene, seen, jobs, printers, phone, away. @param {(what: string) => void} listener */
export function onChange(listener) {
  listeners.add(listener);
}

/** @param {string} what */
export function changed(what) {
  for (const listener of listeners) listener(what);
}

/** The drawing's query. */
export function about() {
  const reading = Object.keys(room.reading).length ? JSON.stringify(room.reading) : "";
  return { file: room.file, reading };
}

let asked = 0;

/** Read the open drawing anew. @param {boolean} [sceneToo] */
export async function readDrawing(sceneToo = true) {
  const number = (asked += 1);
  room.failure = null;
  if (!room.file) {
    room.scene = room.seen = null;
    changed("scene");
    return;
  }
  try {
    const seeing = api.get("/api/seen", about());
    seeing.catch(() => {});
    if (sceneToo) {
      room.seen = null;
      const scene = await api.get("/api/scene", about());
      if (number !== asked) return;
      room.scene = scene;
      changed("scene");
    }
    const seen = await seeing;
    if (number !== asked) return;
    room.seen = seen;
    changed("seen");
  } catch (thrown) {
    if (number !== asked) return;
    room.failure = api.failureOf(thrown);
    if (sceneToo) room.scene = null;
    changed("scene");
  }
}

/** Look at all that is known besides the drawing. */
export async function refresh() {
  const [folder, jobs, printers, phone] = await Promise.all(
    ["/api/folder", "/api/jobs", "/api/printers", "/api/phone"].map((path) => api.get(path)),
  );
  room.jobs = jobs;
  room.printers = printers.printers;
  room.phone = { ...room.phone, ...phone };
  takeFolder(folder);
  for (const what of ["jobs", "printers", "phone"]) changed(what);
}

/** @param {any} told */
function takeFolder(told) {
  const before = room.files.find((one) => one.name === room.file);
  room.folder = told.folder;
  room.files = told.files;
  changed("files");
  const now = room.files.find((one) => one.name === room.file);
  if (before && now && before.changed !== now.changed) readDrawing();
}

/** @param {any} event */
async function take(event) {
  if (event.kind === "folder") takeFolder(event);
  else if (event.kind === "job") {
    const at = room.jobs.findIndex((one) => one.id === event.value.id);
    if (at < 0) room.jobs.push(event.value);
    else room.jobs[at] = event.value;
    changed("jobs");
  } else if (event.kind === "notes") {
    if (event.file === room.file && event.base !== room.seen?.notes.base) await readDrawing();
  } else if (event.kind === "printers") {
    room.printers = (await api.get("/api/printers")).printers;
    changed("printers");
  } else if (event.kind === "phone") {
    room.phone = { ...room.phone, ...event.value };
    changed("phone");
  }
}

/** @type {EventSource | null} */
let source = null;

/** Listen to what happens, as long as the page is looked at: a browser keeps few connections to one place. */
export function listen() {
  const follow = () => {
    if (document.visibilityState === "hidden") {
      source?.close();
      source = null;
    } else if (!source) {
      source = new EventSource("/api/events");
      source.onmessage = (message) => void take(JSON.parse(message.data));
      source.onopen = () => {
        setAway(false);
        void refresh().catch(() => setAway(true));
      };
      source.onerror = () => setAway(true);
    }
  };
  document.addEventListener("visibilitychange", follow);
  follow();
}

/** @param {boolean} away */
function setAway(away) {
  if (room.away !== away) {
    room.away = away;
    changed("away");
  }
}

/**
 * Begin a job; what becomes of it is told by events.
 * @param {string} job @param {any} options @param {string} output @param {Record<string, any>} [more]
 */
export async function order(job, options, output, more = {}) {
  const told = await api.post("/api/jobs", {
    job, options, output, file: job === "testpage" ? "" : room.file, reading: room.reading, ...more,
  }); // prettier-ignore
  await take({ kind: "job", value: told });
  return told;
}

/** The jobs about the open drawing, or about nothing, of some kinds; newest first. @param {...string} kinds */
export function jobsOf(...kinds) {
  const found = room.jobs.filter((one) => kinds.includes(one.job) && (one.about === room.file || one.job === "testpage" || one.job === "check"));
  return found.reverse();
}

/** A name beside the drawing's. @param {string} end */
export function named(end) {
  return `${room.file.replace(/\.[^.]+$/, "")}${end}`;
}
