// Four corners of a face over its picture, moved by finger, mouse or keys under a magnifier.

const SVG = "http://www.w3.org/2000/svg";
const made = (name, more = {}) => {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(more)) element.setAttribute(key, value);
  return element;
};

/**
 * Shows a bitmap with its corners in `place`. corners: [[u, v] x 4] in pixels of the bitmap. moved: called with
 * them whenever one was moved.
 */
export function showCorners(place, bitmap, corners, moved) {
  const names = place.dataset.names.split("|");
  const canvas = document.createElement("canvas");
  const wide = Math.min(bitmap.width, 1600);
  canvas.width = wide;
  canvas.height = Math.round((bitmap.height * wide) / bitmap.width);
  canvas.getContext("2d").drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  const svg = made("svg", { viewBox: `0 0 ${bitmap.width} ${bitmap.height}` });
  const outline = made("polygon", { class: "quad" });
  const glass = Object.assign(document.createElement("canvas"), { className: "glass", width: 180, height: 180, hidden: true });
  svg.append(outline);
  const handles = corners.map((_, which) => {
    const handle = made("g", { class: "handle", tabindex: "0", role: "button" });
    handle.append(made("circle", { class: "reach" }), made("circle", { class: "dot" }), made("text", { class: "name" }));
    handle.lastChild.textContent = `${which + 1}`;
    handle.addEventListener("keydown", (event) => byKey(event, which));
    handle.addEventListener("pointerdown", (event) => byHand(event, which));
    handle.addEventListener("focus", () => look(which));
    handle.addEventListener("blur", () => (glass.hidden = true));
    svg.append(handle);
    return handle;
  });
  place.replaceChildren(canvas, svg, glass);
  draw();

  function draw() {
    const unit = bitmap.width / (place.clientWidth || wide);
    outline.setAttribute("points", corners.map((corner) => corner.join(",")).join(" "));
    outline.setAttribute("stroke-width", 2 * unit);
    handles.forEach((handle, which) => {
      const [u, v] = corners[which];
      const [reach, dot, name] = handle.children;
      for (const [circle, radius] of [[reach, 24], [dot, 7]]) {
        circle.setAttribute("cx", u);
        circle.setAttribute("cy", v);
        circle.setAttribute("r", radius * unit);
      }
      dot.setAttribute("stroke-width", 2.5 * unit);
      name.setAttribute("x", u + 12 * unit);
      name.setAttribute("y", v - 10 * unit);
      name.setAttribute("font-size", 15 * unit);
      handle.setAttribute("aria-label", `${place.dataset.corner} ${which + 1}, ${names[which]}: ${Math.round(u)}, ${Math.round(v)}`);
    });
  }

  function look(which) {
    const [u, v] = corners[which];
    const pen = glass.getContext("2d");
    const seen = bitmap.width / 18; // of the picture, under the glass
    pen.fillStyle = "#222";
    pen.fillRect(0, 0, 180, 180);
    pen.drawImage(bitmap, u - seen / 2, v - seen / 2, seen, seen, 0, 0, 180, 180);
    for (const [colour, width] of [["#000", 4], ["#fff", 1.5]]) {
      pen.strokeStyle = colour;
      pen.lineWidth = width;
      pen.beginPath();
      for (const [a, b] of [[0, 80], [100, 180]]) {
        pen.moveTo(90, a);
        pen.lineTo(90, b);
        pen.moveTo(a, 90);
        pen.lineTo(b, 90);
      }
      pen.stroke();
    }
    glass.classList.toggle("right", u < bitmap.width / 2);
    glass.hidden = false;
  }

  function set(which, u, v) {
    corners[which] = [Math.round(Math.min(Math.max(u, 0), bitmap.width - 1) * 10) / 10, Math.round(Math.min(Math.max(v, 0), bitmap.height - 1) * 10) / 10];
    draw();
    look(which);
    moved(corners);
  }

  function byKey(event, which) {
    const step = (event.shiftKey ? 10 : 1) * Math.max(1, bitmap.width / 2000);
    const by = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] }[event.key];
    if (!by) return;
    event.preventDefault();
    set(which, corners[which][0] + by[0], corners[which][1] + by[1]);
  }

  function byHand(event, which) {
    event.preventDefault();
    const handle = handles[which];
    handle.focus({ preventScroll: true });
    handle.setPointerCapture(event.pointerId);
    const begun = at(event);
    const from = [...corners[which]];
    const move = (next) => {
      const [u, v] = at(next);
      set(which, from[0] + u - begun[0], from[1] + v - begun[1]); // the finger keeps its place beside the corner
    };
    const end = () => {
      handle.removeEventListener("pointermove", move);
      handle.removeEventListener("pointerup", end);
      handle.removeEventListener("pointercancel", end);
    };
    handle.addEventListener("pointermove", move);
    handle.addEventListener("pointerup", end);
    handle.addEventListener("pointercancel", end);
  }

  function at(event) {
    const box = svg.getBoundingClientRect();
    return [((event.clientX - box.left) / box.width) * bitmap.width, ((event.clientY - box.top) / box.height) * bitmap.height];
  }

  new ResizeObserver(draw).observe(place);
}
