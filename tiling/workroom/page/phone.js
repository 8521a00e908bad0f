// The phone's page: one button, and the answer.
// @ts-check
import { byId, fill, h } from "./dom.js";
import { verdict } from "./verdict.js";

const input = byId("photo");
const answer = byId("answer");
const LOOK = 700; // ms between two questions

/** @param {string} path @param {RequestInit} [how] @returns {Promise<any>} */
async function ask(path, how) {
  const told = await fetch(path, how);
  const values = await told.json();
  if (!told.ok) throw new Error(values.error.what);
  return values;
}

/** @param {string} words */
function problem(words) {
  fill(answer, h("div", { class: "problem", role: "alert" }, h("p", {}, words[0].toUpperCase() + words.slice(1))));
}

/** @param {boolean} busy */
function setBusy(busy) {
  input.disabled = busy;
  document.querySelector(".shutter")?.classList.toggle("busy", busy);
  byId("label").textContent = busy ? "Reading it …" : answer.textContent ? "Take another photo" : "Take the photo";
}

async function send() {
  const file = input.files[0];
  if (!file) return;
  setBusy(true);
  fill(answer, h("progress", { "aria-label": "Sending the photo" }));
  try {
    const { id } = await ask("photo", { method: "POST", body: file });
    let job;
    do {
      await new Promise((done) => setTimeout(done, LOOK));
      job = await ask(`photo/${id}`);
    } while (job.state === "waiting" || job.state === "running");
    fill(answer, verdict(job, `photo/${id}/picture`));
    answer.scrollIntoView({ behavior: "smooth", block: "start" });
  } catch (thrown) {
    problem(thrown instanceof Error ? thrown.message : String(thrown));
  }
  input.value = "";
  setBusy(false);
}

input.addEventListener("change", () => void send());
ask("hello", { method: "POST" }).then(
  ({ until }) => {
    const time = new Date(until).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
    byId("until").textContent = `The photo goes to your own computer and nowhere else. This page works until ${time}.`;
  },
  (thrown) => {
    problem(thrown.message);
    setBusy(true);
    byId("label").textContent = "Not invited";
  },
);
