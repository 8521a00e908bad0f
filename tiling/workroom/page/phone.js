// The phone's page: one button, and the answer.
// @ts-check
import * as api from "./api.js";
import { byId, fill, h, problem } from "./dom.js";
import { tapedAnswer } from "./taped.js";
import { verdict } from "./verdict.js";

const input = byId("photo");
const answer = byId("answer");
const moved = byId("moved"); // asked of a taped sheet only
const said = document.body.dataset.photo === "taped" ? tapedAnswer : verdict;
const LOOK = 700; // ms between two questions

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
    const { id } = await api.send("photo", file, { moved: moved?.checked ? "1" : "" });
    let job;
    do {
      await new Promise((done) => setTimeout(done, LOOK));
      job = await api.get(`photo/${id}`);
    } while (job.state === "waiting" || job.state === "running");
    fill(answer, said(job, `photo/${id}/picture`));
    if (moved && job.state === "done") moved.checked = false;
    answer.scrollIntoView({ behavior: "smooth", block: "start" });
  } catch (thrown) {
    fill(answer, problem(api.failureOf(thrown)));
  }
  input.value = "";
  setBusy(false);
}

input.addEventListener("change", () => void send());
api.post("hello", {}).then(
  ({ until }) => {
    const time = new Date(until).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
    byId("until").textContent = `The photo goes to your own computer and nowhere else. This page works until ${time}.`;
  },
  (thrown) => {
    fill(answer, problem(api.failureOf(thrown)));
    setBusy(true);
    byId("label").textContent = "Not invited";
  },
);
