// The drawing on a canvas: panned, pinched and zoomed. What is drawn is kept as a picture while it moves, and drawn
// anew in short slices, so that a drawing of many thousand lines stays smooth.
// @ts-check
import { h } from "./dom.js";
import { bundled } from "./bundles.js";

/**
 * @typedef {{x: number, y: number}} Spot in mm on the drawing
 * @typedef {(context: CanvasRenderingContext2D, view: View) => void} Over draws over the lines, in mm
 * @typedef {{scene: any, paint?: (mark: any) => string | null, alpha?: number}} Shown
 */

const STEP = 0.01; // mm of a path's numbers
const SLICE = 9; // ms of drawing in one frame
const MARGIN = 0.35; // of the view on each side, drawn ahead
const CLICK = 5; // px that a click may move
const NEAR = 9; // px from a line that still mean it

export class View {
  /** @param {HTMLCanvasElement} canvas */
  constructor(canvas) {
    this.canvas = canvas;
    this.context = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d", { alpha: false }));
    this.at = { x: 0, y: 0, scale: 1 }; // mm at the left top corner, px to the mm
    /** @type {Shown[]} */
    this.shown = [];
    /** @type {Over[]} */
    this.over = [];
    /** @type {(spot: Spot) => void} */
    this.onpick = () => {};
    this.bundles = /** @type {any[]} */ ([]);
    this.pictures = /** @type {{image: HTMLImageElement, matrix: number[], opacity: number}[]} */ ([]);
    this.size = [100, 100];
    this.kept = /** @type {any} */ (null); // the picture that is moved about
    this.coming = /** @type {any} */ (null); // the one being drawn
    this.asked = false;
    this.frames = 0;
    new ResizeObserver(() => this.#resized()).observe(canvas);
    this.#follow();
  }

  /** Show other things. @param {Shown[]} shown @param {boolean} [fit] */
  show(shown, fit = false) {
    this.shown = shown;
    this.bundles = shown.flatMap((one) => bundled(one.scene, one.paint, one.alpha ?? 1));
    if (shown.length) this.size = shown[0].scene.size_mm;
    this.pictures = (shown[0]?.scene.pictures ?? []).map((/** @type {any} */ one) => {
      const image = new Image();
      image.onload = () => this.stale();
      image.src = one.href;
      return { image, matrix: one.matrix, opacity: one.opacity };
    });
    if (fit) this.fit();
    this.stale();
  }

  /** The lines are to be drawn anew. */
  stale() {
    this.coming = null;
    if (this.kept) this.kept.good = false;
    this.draw();
  }

  /** All of it in view. @param {number[]} [box] left, top, right, bottom in mm */
  fit(box) {
    const [width, height] = [this.canvas.clientWidth, this.canvas.clientHeight];
    const [x0, y0, x1, y1] = box ?? this.around([0, 0, this.size[0], this.size[1]]);
    if (!width || !height) return;
    const scale = Math.min((width - 32) / Math.max(x1 - x0, 1), (height - 32) / Math.max(y1 - y0, 1));
    this.at = { scale, x: (x0 + x1) / 2 - width / scale / 2, y: (y0 + y1) / 2 - height / scale / 2 };
    this.draw();
  }

  /** The box around the drawing and what stands beside it. @param {number[]} box @returns {number[]} */
  around(box) {
    return box;
  }

  /** @param {number} factor @param {number} [px] @param {number} [py] */
  zoom(factor, px = this.canvas.clientWidth / 2, py = this.canvas.clientHeight / 2) {
    const scale = Math.min(Math.max(this.at.scale * factor, 0.005), 60);
    const spot = this.spot(px, py);
    this.at = { scale, x: spot.x - px / scale, y: spot.y - py / scale };
    this.draw();
  }

  /** @param {number} dx @param {number} dy px */
  move(dx, dy) {
    this.at = { ...this.at, x: this.at.x - dx / this.at.scale, y: this.at.y - dy / this.at.scale };
    this.draw();
  }

  /** The place on the drawing under a place on the canvas. @param {number} px @param {number} py @returns {Spot} */
  spot(px, py) {
    return { x: this.at.x + px / this.at.scale, y: this.at.y + py / this.at.scale };
  }

  /** Draw in the next frame. */
  draw() {
    if (this.asked) return;
    this.asked = true;
    requestAnimationFrame(() => {
      this.asked = false;
      this.#frame();
    });
  }

  /** The marks whose lines pass a place, nearest first. @param {Spot} spot */
  marksAt(spot) {
    const found = [];
    for (const bundle of this.bundles) {
      if (!within(bundle.box, spot, NEAR / this.at.scale)) continue;
      for (const mark of bundle.marks) {
        if (!within(mark.b, spot, NEAR / this.at.scale)) continue;
        mark.path ??= new Path2D(mark.d);
        const part = [0.3, 1].find((one) => this.passes(mark.path, spot, one * NEAR));
        if (part) found.push({ mark, part });
      }
    }
    return found.sort((one, other) => one.part - other.part).map((one) => one.mark);
  }

  /** Whether a path passes a place. @param {Path2D} path in steps @param {Spot} spot @param {number} [px] how near */
  passes(path, spot, px = NEAR) {
    const context = this.context;
    context.save();
    context.setTransform(1, 0, 0, 1, 0, 0);
    context.setLineDash([]);
    context.lineWidth = (2 * px) / this.at.scale / STEP;
    const found = context.isPointInStroke(path, spot.x / STEP, spot.y / STEP);
    context.restore();
    return found;
  }

  #resized() {
    const sharp = window.devicePixelRatio || 1;
    const first = this.canvas.width === 300;
    this.canvas.width = Math.max(Math.round(this.canvas.clientWidth * sharp), 1);
    this.canvas.height = Math.max(Math.round(this.canvas.clientHeight * sharp), 1);
    if (first) this.fit();
    this.stale();
  }

  #frame() {
    const { canvas, context, at } = this;
    const sharp = canvas.width / Math.max(canvas.clientWidth, 1);
    this.frames += 1;
    context.setTransform(1, 0, 0, 1, 0, 0);
    context.fillStyle = getComputedStyle(canvas).backgroundColor;
    context.fillRect(0, 0, canvas.width, canvas.height);
    context.setTransform(at.scale * sharp, 0, 0, at.scale * sharp, -at.x * at.scale * sharp, -at.y * at.scale * sharp);
    if (this.shown.length) {
      context.fillStyle = "#fff";
      context.fillRect(0, 0, this.size[0], this.size[1]);
    }
    if (this.kept) {
      const { picture, box } = this.kept;
      context.drawImage(picture, box[0], box[1], box[2] - box[0], box[3] - box[1]);
    }
    for (const draws of this.over) {
      context.save();
      draws(context, this);
      context.restore();
    }
    if (!this.#isGood()) {
      this.#slice(sharp);
      this.draw();
    }
  }

  /** Whether the picture that is kept is sharp and shows all that is in view. */
  #isGood() {
    if (!this.shown.length) return true;
    const { kept, at } = this;
    if (!kept?.good || Math.abs(kept.scale / at.scale - 1) > 1e-6) return false;
    const box = this.#inView(0);
    const [x1, y1] = this.size;
    return (
      kept.box[0] <= Math.max(box[0], 0) && kept.box[1] <= Math.max(box[1], 0) &&
      kept.box[2] >= Math.min(box[2], x1) && kept.box[3] >= Math.min(box[3], y1)
    ); // prettier-ignore
  }

  /** @param {number} margin @returns {number[]} */
  #inView(margin) {
    const width = this.canvas.clientWidth / this.at.scale;
    const height = this.canvas.clientHeight / this.at.scale;
    const [x, y] = [this.at.x - margin * width, this.at.y - margin * height];
    return [x, y, x + width * (1 + 2 * margin), y + height * (1 + 2 * margin)];
  }

  /** Draw on for a few milliseconds; take the picture over when it is whole. @param {number} sharp */
  #slice(sharp) {
    if (!this.coming || Math.abs(this.coming.scale / this.at.scale - 1) > 1e-6 || !this.#covers(this.coming.box)) {
      this.coming = this.#begun(sharp);
    }
    const coming = this.coming;
    const end = performance.now() + SLICE;
    while (coming.next < this.bundles.length && performance.now() < end) {
      const bundle = this.bundles[coming.next];
      if (meets(bundle.box, coming.box)) bundle.draw(coming.context, this.at.scale);
      coming.next += 1;
    }
    if (coming.next >= this.bundles.length) {
      this.kept = coming;
      this.coming = null;
    } else if (!this.kept) {
      this.kept = { ...coming, good: false }; // the first time, lines may be seen coming
    }
  }

  /** @param {number[]} box */
  #covers(box) {
    const view = this.#inView(0);
    return box[0] <= view[0] && box[1] <= view[1] && box[2] >= view[2] && box[3] >= view[3];
  }

  /** @param {number} sharp */
  #begun(sharp) {
    const box = this.#inView(MARGIN);
    const scale = this.at.scale;
    const picture = h("canvas", {
      width: Math.ceil((box[2] - box[0]) * scale * sharp), height: Math.ceil((box[3] - box[1]) * scale * sharp),
    }); // prettier-ignore
    const context = picture.getContext("2d");
    const px = scale * sharp;
    for (const { image, matrix, opacity } of this.pictures) {
      if (!image.complete || !image.naturalWidth) continue;
      const [a, b, c, d, e, f] = matrix.map((one) => one * px);
      context.setTransform(a, b, c, d, e - box[0] * px, f - box[1] * px);
      context.globalAlpha = opacity;
      context.drawImage(image, 0, 0, 1, 1);
    }
    context.globalAlpha = 1;
    context.setTransform(px * STEP, 0, 0, px * STEP, -box[0] * px, -box[1] * px);
    const wide = [picture.width / px + box[0], picture.height / px + box[1]];
    return { picture, context, box: [box[0], box[1], ...wide], scale, next: 0, good: true };
  }

  /** Fingers, mouse, wheel and keys. */
  #follow() {
    const canvas = this.canvas;
    /** @type {Map<number, {x: number, y: number}>} */
    const fingers = new Map();
    let moved = 0;
    const place = (/** @type {any} */ event) => ({ x: event.offsetX, y: event.offsetY });
    canvas.addEventListener("pointerdown", (event) => {
      canvas.setPointerCapture(event.pointerId);
      fingers.set(event.pointerId, place(event));
      if (fingers.size === 1) moved = 0;
    });
    canvas.addEventListener("pointermove", (event) => {
      const before = fingers.get(event.pointerId);
      if (!before) return;
      const now = place(event);
      const other = [...fingers].find(([id]) => id !== event.pointerId)?.[1];
      moved += Math.hypot(now.x - before.x, now.y - before.y);
      if (other) {
        const factor = Math.hypot(now.x - other.x, now.y - other.y) / Math.max(Math.hypot(before.x - other.x, before.y - other.y), 1);
        this.zoom(factor, (now.x + other.x) / 2, (now.y + other.y) / 2);
        this.move((now.x - before.x) / 2, (now.y - before.y) / 2);
      } else this.move(now.x - before.x, now.y - before.y);
      fingers.set(event.pointerId, now);
    });
    const up = (/** @type {PointerEvent} */ event) => {
      if (fingers.size === 1 && moved < CLICK && event.type === "pointerup") {
        const { x, y } = place(event);
        this.onpick(this.spot(x, y));
      }
      fingers.delete(event.pointerId);
    };
    canvas.addEventListener("pointerup", up);
    canvas.addEventListener("pointercancel", up);
    canvas.addEventListener("wheel", (event) => {
      event.preventDefault();
      this.zoom(Math.exp(-event.deltaY / (event.ctrlKey ? 120 : 500)), event.offsetX, event.offsetY);
    }, { passive: false }); // prettier-ignore
    canvas.addEventListener("keydown", (event) => {
      /** @type {Record<string, () => void>} */
      const does = {
        ArrowLeft: () => this.move(60, 0), ArrowRight: () => this.move(-60, 0), ArrowUp: () => this.move(0, 60),
        ArrowDown: () => this.move(0, -60), "+": () => this.zoom(1.25), "=": () => this.zoom(1.25),
        "-": () => this.zoom(0.8), 0: () => this.fit(),
        Enter: () => this.onpick(this.spot(canvas.clientWidth / 2, canvas.clientHeight / 2)),
      }; // prettier-ignore
      if (does[event.key] && !event.ctrlKey && !event.metaKey) {
        event.preventDefault();
        does[event.key]();
      }
    });
  }
}

/** @param {number[]} box @param {Spot} spot @param {number} reach mm */
function within(box, spot, reach) {
  return spot.x > box[0] - reach && spot.x < box[2] + reach && spot.y > box[1] - reach && spot.y < box[3] + reach;
}

/** @param {number[]} one @param {number[]} other */
function meets(one, other) {
  return one[0] <= other[2] && one[2] >= other[0] && one[1] <= other[3] && one[3] >= other[1];
}
