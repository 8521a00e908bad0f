// Small helpers to build the page: elements, and things that several places show.
// @ts-check

const ATTRIBUTES = new Set(["class", "role", "for", "list"]);

/** @typedef {any} Child */

/**
 * An element with properties and children. Properties that begin with `on` are listeners, `class` and those with a
 * dash are attributes, all others are set as they are.
 * @param {string} tag
 * @param {Record<string, any>} [props]
 * @param {...(Child | Child[])} children
 * @returns {any}
 */
export function h(tag, props = {}, ...children) {
  const element = document.createElement(tag);
  for (const [key, value] of Object.entries(props)) {
    if (value === undefined || value === null) continue;
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else if (ATTRIBUTES.has(key) || key.includes("-")) element.setAttribute(key, value);
    else /** @type {any} */ (element)[key] = value;
  }
  put(element, children);
  return element;
}

/** @param {Element} element @param {(Child | Child[])[]} children */
function put(element, children) {
  for (const child of children.flat(Infinity)) {
    if (child === null || child === undefined || child === false || child === "") continue;
    element.append(child instanceof Node ? child : String(child));
  }
}

/** Replace all that is in an element. @param {Element} element @param {...(Child | Child[])} children */
export function fill(element, ...children) {
  const focused = document.activeElement?.id;
  element.replaceChildren();
  put(element, children);
  if (focused && document.activeElement?.id !== focused) document.getElementById(focused)?.focus();
}

/** @param {string} id @returns {any} */
export function byId(id) {
  return document.getElementById(id);
}

let counted = 0;

/** A labelled control. @param {string} label @param {any} control @param {string} [hint] */
export function field(label, control, hint) {
  control.id ||= `field-${(counted += 1)}`;
  const parts = [h("label", { for: control.id }, label), control];
  if (hint) {
    const said = h("small", { id: `${control.id}-hint` }, hint);
    control.setAttribute("aria-describedby", said.id);
    parts.push(said);
  }
  return h("div", { class: "field" }, parts);
}

/**
 * A choice from a list of [value, label].
 * @param {[string, string][]} options @param {string} value @param {(value: string) => void} onpick @param {string} [id]
 */
export function choice(options, value, onpick, id) {
  const list = options.map(([key, label]) => h("option", { value: key, selected: key === value }, label));
  return h("select", { id, onchange: (/** @type {any} */ event) => onpick(event.target.value) }, list);
}

/** @param {string} label @param {boolean} checked @param {(on: boolean) => void} onchange @param {string} [id] */
export function tick(label, checked, onchange, id) {
  const box = h("input", { type: "checkbox", id, checked, onchange: (/** @type {any} */ e) => onchange(e.target.checked) });
  return h("label", { class: "tick" }, box, label);
}

/** @param {string} label @param {() => void} onclick @param {Record<string, any>} [props] */
export function button(label, onclick, props = {}) {
  return h("button", { type: "button", onclick, ...props }, label);
}

/** @type {Map<string, boolean>} what somebody opened or closed, which stays so when the panel is filled anew */
const folds = new Map();

/** A part of a panel that folds away. @param {string} title @param {boolean} open @param {...any} children */
export function fold(title, open, ...children) {
  const key = `${document.body.dataset.here} ${title.replace(/\d+/g, "")}`;
  const part = h("details", { open: folds.get(key) ?? open });
  part.append(h("summary", { onclick: () => folds.set(key, !part.open) }, title), ...children.flat(Infinity).filter(Boolean));
  return part;
}

/** Say something to who listens rather than looks. @param {string} text */
export function say(text) {
  const place = byId("said");
  if (place) place.textContent = text;
}

/**
 * What went wrong, with what to do about it.
 * @param {import("./api.js").Failure | null | undefined} error
 * @param {...any} remedies buttons
 */
export function problem(error, ...remedies) {
  if (!error) return null;
  const words = error.remedy ? `${error.what}; ${error.remedy.words}.` : error.what;
  return h("div", { class: "problem", role: "alert" }, h("p", {}, sentence(words)), remedies);
}

/** With a large first letter. @param {string} text */
export function sentence(text) {
  return text ? text[0].toUpperCase() + text.slice(1) : "";
}

/** How many of what. @param {number} count @param {string} one @param {string} [many] */
export function plural(count, one, many = `${one}s`) {
  return `${count} ${count === 1 ? one : many}`;
}
