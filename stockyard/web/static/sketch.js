// One flaw in hand: drawn, moved, reshaped and taken back, on one face, in mm of the board's frame.
import { made } from "./map_view.js";

const round = (value) => Math.round(value * 10) / 10;

export class Sketch {
  constructor(view, { pointWord, changed }) {
    Object.assign(this, { view, pointWord, changed });
    this.layer = made("g", { class: "draft" });
    this.shapeMark = made("path", { class: "shape" });
    this.layer.append(this.shapeMark);
    view.svg.append(this.layer);
    this.handles = [];
    this.clear();
  }

  clear() {
    Object.assign(this, { which: "", face: "A", shape: "line", points: [], past: [], open: false });
    this.render();
  }

  /** Takes up a flaw that is on the map. */
  take({ which, face, points }) {
    this.clear();
    Object.assign(this, { which, face: face === "both" ? "A" : face, shape: "outline", points: points.map((p) => [...p]), open: true });
    this.render();
    this.changed();
  }

  /** Begins a new one on a face. */
  begin(shape, face) {
    this.clear();
    Object.assign(this, { shape, face, open: true });
  }

  remember() {
    this.past.push(this.points.map((point) => [...point]));
    if (this.past.length > 200) this.past.shift();
  }

  undo() {
    if (!this.past.length) return false;
    this.points = this.past.pop();
    this.render();
    this.changed();
    return true;
  }

  add(...points) {
    this.remember();
    this.points.push(...points.map((point) => this.onBoard(point)));
    if (this.shape === "box") this.points = this.points.slice(-2);
    this.render();
    this.changed();
  }

  replace(points) {
    this.points = points.map((point) => this.onBoard(point));
    this.render();
    this.changed();
  }

  set(at, point, snap = true) {
    this.points[at] = this.onBoard(point, snap);
    this.render();
    this.changed();
  }

  takeAway(at) {
    const least = this.shape === "outline" ? 3 : 2;
    if (this.which && this.points.length <= least) return;
    this.remember();
    this.points.splice(at, 1);
    this.render();
    this.changed();
  }

  moveBy(dx, dy, from) {
    const xs = from.map(([x]) => x);
    const ys = from.map(([, y]) => y);
    const held = (by, least, most, end) => Math.min(Math.max(by, -least), end - most);
    const bx = held(dx, Math.min(...xs), Math.max(...xs), this.view.length);
    const by = held(dy, Math.min(...ys), Math.max(...ys), this.view.width);
    this.points = from.map(([x, y]) => [round(x + bx), round(y + by)]);
    this.render();
    this.changed();
  }

  /** A point held to the board, and drawn to its edges and ends where it comes near them. */
  onBoard([x, y], snap = true) {
    const near = snap ? Math.min(12 * this.view.mmPerPx, 15) : 0;
    const held = (value, most) => (value < near ? 0 : value > most - near ? most : round(value));
    return [held(x, this.view.length), held(y, this.view.width)];
  }

  get enough() {
    return this.points.length >= (this.shape === "outline" ? 3 : 2);
  }

  /** As the JSON interface takes it. */
  body() {
    if (this.shape === "line") return { line: this.points };
    if (this.shape === "box") return { box: [...this.points[0], ...this.points[1]] };
    return { outline: this.points };
  }

  contains(target) {
    return target === this.shapeMark;
  }

  corners() {
    if (this.shape !== "box" || this.points.length < 2) return this.points;
    const [[x0, y0], [x1, y1]] = this.points;
    return [[x0, y0], [x1, y0], [x1, y1], [x0, y1]];
  }

  render() {
    const spots = this.corners().map((point) => this.view.onDrawing(this.face, point));
    const closed = this.shape === "line" ? "" : "Z";
    this.shapeMark.setAttribute("d", spots.length > 1 ? `M${spots.map((spot) => spot.join(" ")).join("L")}${closed}` : "");
    this.shapeMark.classList.toggle("line", this.shape === "line");
    const unit = this.view.mmPerPx || 1;
    while (this.handles.length > this.points.length) this.handles.pop().remove();
    while (this.handles.length < this.points.length) this.handles.push(this.#handle(this.handles.length));
    // Points so close that a finger could not tell them apart are left to the keys until one looks nearer.
    let last = null;
    this.points.forEach((point, at) => {
      const crowded = last && Math.hypot(point[0] - last[0], point[1] - last[1]) < 18 * unit;
      if (!crowded) last = point;
      this.handles[at].classList.toggle("crowded", Boolean(crowded));
      const [x, y] = this.view.onDrawing(this.face, point);
      const [reach, dot] = this.handles[at].children;
      for (const [circle, radius] of [[reach, 22], [dot, 6]]) {
        circle.setAttribute("cx", x);
        circle.setAttribute("cy", y);
        circle.setAttribute("r", radius * unit);
      }
      this.handles[at].setAttribute("aria-label", `${this.pointWord} ${at + 1}: ${point[0]}, ${point[1]} mm`);
    });
  }

  #handle(at) {
    const handle = made("g", { class: "handle", tabindex: "0", role: "button", "data-point": at });
    handle.append(made("circle", { class: "reach" }), made("circle", { class: "dot" }));
    handle.addEventListener("keydown", (event) => this.#byKey(event, at));
    this.layer.append(handle);
    return handle;
  }

  #byKey(event, at) {
    const step = event.shiftKey ? 10 : 1;
    const by = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, step], ArrowDown: [0, -step] }[event.key];
    if (by) {
      this.remember();
      this.set(at, [this.points[at][0] + by[0], this.points[at][1] + by[1]], false);
    } else if (event.key === "Delete" || event.key === "Backspace") this.takeAway(at);
    else return;
    event.preventDefault();
    event.stopPropagation();
  }
}

/** A stroke with what its shape does not need left out (Ramer, Douglas and Peucker). */
export function simpler(points, within) {
  if (points.length < 3) return points;
  const [a, b] = [points[0], points[points.length - 1]];
  const long = Math.hypot(b[0] - a[0], b[1] - a[1]);
  let most = 0;
  let at = 0;
  points.forEach(([x, y], place) => {
    const off = long ? Math.abs((b[0] - a[0]) * (a[1] - y) - (a[0] - x) * (b[1] - a[1])) / long : Math.hypot(x - a[0], y - a[1]);
    if (off > most) [most, at] = [off, place];
  });
  if (most <= within) return [a, b];
  return [...simpler(points.slice(0, at + 1), within).slice(0, -1), ...simpler(points.slice(at), within)];
}
