// The phone that is invited, as the places show it that have it take photos.
// @ts-check
import * as api from "./api.js";
import { button, h, plural } from "./dom.js";
import { changed, room } from "./store.js";

/** Invite the phone. @param {any} wishes what is asked of its photos */
export async function askPhone(wishes) {
  take(await api.post("/api/phone", wishes));
}

/**
 * The code to point the phone at, or that it came.
 * @param {() => any} anew invites it once more @param {(does: () => Promise<any>) => Promise<void>} run tells what went wrong
 */
export function invited(anew, run) {
  const { phone } = room;
  const until = new Date(phone.until).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
  return h("section", {},
    h("h3", {}, phone.came ? "The phone is here" : "Point the phone’s camera at this"),
    phone.qr && h("img", { class: "qr", alt: "QR code of the link below", src: `data:image/svg+xml,${encodeURIComponent(phone.qr)}` }),
    phone.link && h("p", { class: "link" }, phone.link),
    h("p", { class: "small" }, `Works until ${until}, for the first phone that opens it. ${phone.jobs.length ? `${plural(phone.jobs.length, "photo")} came.` : ""}`),
    h("div", { class: "row" }, !phone.link && button("Show a new code", anew), button("End the invitation", () => run(async () => take(await api.remove("/api/phone")))))); // prettier-ignore
}

/** @param {any} told */
function take(told) {
  room.phone = told.link ? told : { ...told, link: undefined, qr: undefined };
  changed("phone");
}
