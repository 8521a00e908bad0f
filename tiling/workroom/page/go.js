// Going to a place of the workroom, or to another drawing: the address says where the page is.
// @ts-check
import { room } from "./store.js";

/** @param {{place?: string, file?: string, reading?: any}} where */
export function go({ place, file = room.file, reading = file === room.file ? room.reading : {} }) {
  const query = new URLSearchParams();
  if (file) query.set("file", file);
  if (Object.keys(reading).length) query.set("reading", JSON.stringify(reading));
  const text = query.toString();
  history.pushState(null, "", `${place ? `/${place}` : location.pathname}${text ? `?${text}` : ""}`);
  window.dispatchEvent(new Event("popstate"));
}
