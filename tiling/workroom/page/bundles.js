// Lines of one look, drawn many at a time: a stroke of a hundred lines costs little more than one.
// @ts-check

const STEP = 0.01; // mm of a path's numbers
const MOST = 96; // marks in a bundle
const HAIR = 1.1; // px; nothing is drawn thinner
const CAPS = /** @type {CanvasLineCap[]} */ (["butt", "round", "square"]);
const JOINS = /** @type {CanvasLineJoin[]} */ (["miter", "round", "bevel"]);

/**
 * @param {any} scene
 * @param {((mark: any) => string | null) | undefined} paint another colour for a mark; "" hides it
 * @param {number} alpha
 */
export function bundled(scene, paint, alpha) {
  /** @type {Bundle[]} */
  const found = [];
  for (const mark of scene.marks) {
    const style = scene.styles[mark.s];
    const colour = paint ? paint(mark) : null;
    if (colour === "") continue;
    const last = found.at(-1);
    if (last && last.takes(mark, colour)) last.add(mark);
    else {
      const fresh = new Bundle(style, colour, alpha, mark);
      found.push(fresh);
      fresh.add(mark);
    }
  }
  return found;
}

class Bundle {
  /** @param {any} style @param {string | null} colour @param {number} alpha @param {any} first */
  constructor(style, colour, alpha, first) {
    this.style = style;
    this.colour = colour;
    this.alpha = alpha;
    this.key = first.s;
    this.clip = first.c ? new Path2D(first.c) : null;
    // Lines over one another that let light through, and areas, are drawn each by itself.
    this.alone = Boolean(style.fill || first.c || (style.opacity ?? 1) < 1 || alpha < 1);
    /** @type {any[]} */
    this.marks = [];
    this.box = [Infinity, Infinity, -Infinity, -Infinity];
    /** @type {Path2D | null} */
    this.path = null;
  }

  /** @param {any} mark @param {string | null} colour */
  takes(mark, colour) {
    return !this.alone && !mark.c && mark.s === this.key && colour === this.colour && this.marks.length < MOST;
  }

  /** @param {any} mark */
  add(mark) {
    this.marks.push(mark);
    const [a, b, c, d] = this.box;
    this.box = [Math.min(a, mark.b[0]), Math.min(b, mark.b[1]), Math.max(c, mark.b[2]), Math.max(d, mark.b[3])];
  }

  /** @param {CanvasRenderingContext2D} context in steps @param {number} scale px to the mm */
  draw(context, scale) {
    this.path ??= new Path2D(this.marks.map((mark) => mark.d).join(""));
    const style = this.style;
    if (this.clip) {
      context.save();
      context.clip(this.clip);
    }
    if (style.fill) {
      context.globalAlpha = style.fill_opacity * this.alpha;
      context.fillStyle = this.colour ?? style.fill;
      context.fill(this.path, style.even_odd ? "evenodd" : "nonzero");
    }
    if (style.stroke) {
      context.globalAlpha = style.opacity * this.alpha;
      context.strokeStyle = this.colour ?? style.stroke;
      context.lineWidth = Math.max(style.width, (this.colour ? 1.6 : 1) * (HAIR / scale)) / STEP;
      context.setLineDash(style.dashes.map((/** @type {number} */ one) => one / STEP));
      context.lineDashOffset = style.offset / STEP;
      context.lineCap = CAPS[style.cap];
      context.lineJoin = JOINS[style.join];
      context.miterLimit = style.miter;
      context.stroke(this.path);
    }
    context.globalAlpha = 1;
    if (this.clip) context.restore();
  }
}
