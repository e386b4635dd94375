// The window on a board's faces: nearer, farther, along, and a small view of the whole to go by. Units are mm.

export const SVG = "http://www.w3.org/2000/svg";
export function made(name, more = {}) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(more)) element.setAttribute(key, value);
  return element;
}

export class MapView {
  /** box: holds the drawing; size: of the drawing; tops: where each face begins in it; width: of the board. */
  constructor(box, { size, tops, width, length }, changed) {
    Object.assign(this, { box, size, tops, width, length, changed });
    this.svg = box.querySelector("svg");
    this.svg.setAttribute("role", "group");
    box.classList.add("live");
    this.whole_ = made("svg", { viewBox: `0 0 ${size[0]} ${size[1]}`, class: "overview", "aria-hidden": "true" });
    this.frame = made("rect", { class: "frame" });
    this.whole_.append(made("use", { href: "#both-faces" }), this.frame);
    box.before(this.whole_);
    this.whole_.addEventListener("pointerdown", (event) => this.#goTo(event));
    this.whole_.addEventListener("pointermove", (event) => event.buttons && this.#goTo(event));
    new ResizeObserver(() => this.show()).observe(box);
    this.begin();
  }

  get mmPerPx() {
    return this.wide / this.box.clientWidth;
  }

  get high() {
    return (this.wide * this.box.clientHeight) / this.box.clientWidth;
  }

  get widest() {
    const [l, h] = this.size;
    return Math.max(l * 1.04, (h * 1.1 * this.box.clientWidth) / this.box.clientHeight);
  }

  /** The whole where it is large enough to see, otherwise as near as both faces fit. */
  begin() {
    this.whole();
    const near = (this.size[1] * 1.15 * this.box.clientWidth) / this.box.clientHeight;
    if (near < this.wide / 2) {
      this.wide = near;
      this.x = -0.02 * near;
      this.show();
    }
  }

  whole() {
    this.wide = this.widest;
    this.x = (this.size[0] - this.wide) / 2;
    this.y = (this.size[1] - this.high) / 2;
    this.show();
  }

  zoom(factor, at = [this.box.clientWidth / 2, this.box.clientHeight / 2]) {
    const before = this.mmPerPx;
    this.wide = Math.min(Math.max(this.wide * factor, 20), this.widest);
    this.x += at[0] * (before - this.mmPerPx);
    this.y += at[1] * (before - this.mmPerPx);
    this.show();
  }

  pan(dx, dy) {
    this.x -= dx * this.mmPerPx;
    this.y -= dy * this.mmPerPx;
    this.show();
  }

  show() {
    if (!this.box.clientWidth) return;
    const { wide, high } = this;
    const room = (start, seen, all) => (seen >= all ? (all - seen) / 2 : Math.min(Math.max(start, -0.05 * seen), all - 0.95 * seen));
    this.x = room(this.x, wide, this.size[0]);
    this.y = room(this.y, high, this.size[1]);
    this.svg.setAttribute("viewBox", `${this.x} ${this.y} ${wide} ${high}`);
    for (const [name, value] of Object.entries({ x: this.x, y: this.y, width: wide, height: high })) this.frame.setAttribute(name, value);
    this.changed?.();
  }

  /** Brings a point of a face into sight. */
  reveal(face, [x, y]) {
    const [sx, sy] = this.onDrawing(face, [x, y]);
    const { wide, high } = this;
    if (sx < this.x + 0.1 * wide || sx > this.x + 0.9 * wide) this.x = sx - wide / 2;
    if (sy < this.y + 0.05 * high || sy > this.y + 0.95 * high) this.y = sy - high / 2;
    this.show();
  }

  /** Looks at an outline from near enough to reshape it. */
  near(face, outline) {
    const spots = outline.map((point) => this.onDrawing(face, point));
    const side = (axis) => [Math.min(...spots.map((spot) => spot[axis])), Math.max(...spots.map((spot) => spot[axis]))];
    const [[x0, x1], [y0, y1]] = [side(0), side(1)];
    const shape = this.box.clientWidth / this.box.clientHeight;
    this.wide = Math.min(this.wide, Math.max(2.2 * (x1 - x0), 2.2 * (y1 - y0) * shape, 60));
    this.x = (x0 + x1 - this.wide) / 2;
    this.y = (y0 + y1 - this.high) / 2;
    this.show();
  }

  /** Where a pointer is: the face, and the point in the board's frame. */
  at(event, face = null) {
    const box = this.box.getBoundingClientRect();
    const sx = this.x + (event.clientX - box.left) * this.mmPerPx;
    const sy = this.y + (event.clientY - box.top) * this.mmPerPx;
    const on = face || (sy < (this.tops.B + this.width) / 2 ? "A" : "B");
    return { face: on, point: [sx, this.tops[on] + this.width - sy] };
  }

  onDrawing(face, [x, y]) {
    return [x, this.tops[face === "B" ? "B" : "A"] + this.width - y];
  }

  #goTo(event) {
    const box = this.whole_.getBoundingClientRect();
    this.x = ((event.clientX - box.left) / box.width) * this.size[0] - this.wide / 2;
    this.show();
  }
}
