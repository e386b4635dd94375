// The board's map: drawn on by finger, mouse or keys, and changed through the JSON interface, so that nobody
// writes over what they have not seen. Without it the forms on the page do the same.
import { get, send } from "./base.js";
import { MapView, made } from "./map_view.js";
import { Sketch, simpler } from "./sketch.js";

const part = document.getElementById("map");
const live = JSON.parse(part.dataset.live);
const box = part.querySelector(".faces");
const words = document.getElementById("words").dataset;
const word = document.getElementById("map-word");
const list = document.getElementById("flaws");
const form = document.getElementById("draft");
const api = `/api/boards/${encodeURIComponent(live.number)}`;
const field = (name) => form.elements.namedItem(name);
let mark = `"${live.mark}"`;
let tool = "look";
const done = []; // what was kept and can be taken back

part.querySelector(".map-bar").hidden = false;
const view = new MapView(box, live);
const sketch = new Sketch(view, { pointWord: words.point, changed: told });
const labels = made("g", { class: "labels", "aria-hidden": "true" });
view.svg.insertBefore(labels, sketch.layer);
view.changed = () => {
  sketch.render();
  showLabels();
};
const cross = made("path", { class: "cross" });
let cursor = null; // {face, point} of the keyboard's cross
if (form) {
  document.getElementById("map-keys").hidden = false;
  form.closest("section").classList.add("live");
  fill();
}
box.setAttribute("role", "application");
showFlaws();

// Tools and zoom.
part.addEventListener("click", (event) => {
  const { tool: chosen, do: act } = event.target.closest("button")?.dataset || {};
  if (chosen) choose(chosen);
  if (act === "nearer") view.zoom(1 / 1.6);
  if (act === "farther") view.zoom(1.6);
  if (act === "whole") view.whole();
  if (act === "undo") undo();
  if (act === "mine") settle(true);
  if (act === "theirs") settle(false);
  if (act === "leave") {
    leave();
    word.textContent = words.left;
  }
});

function choose(next) {
  tool = next;
  for (const button of part.querySelectorAll("[data-tool]")) button.setAttribute("aria-pressed", `${button.dataset.tool === next}`);
  box.classList.toggle("drawing-on", next !== "look");
  if (next === "look") return;
  leave();
  field("shape").value = next;
  word.textContent = words.drawing;
}

// Pointers: one draws, moves or looks along; two look nearer.
const fingers = new Map();
let doing = null;
box.addEventListener("pointerdown", (event) => {
  if (event.pointerType === "mouse" && event.button !== 0) return;
  fingers.set(event.pointerId, event);
  if (fingers.size === 2) {
    doing?.cancel?.();
    doing = pinch();
    return;
  }
  if (fingers.size > 2) return;
  try {
    box.setPointerCapture(event.pointerId);
  } catch {
    // the finger has left already
  }
  const handle = event.target.closest?.(".draft .handle");
  if (handle) doing = dragPoint(Number(handle.dataset.point), handle);
  else if (tool !== "look") doing = stroke(event);
  else if (sketch.open && sketch.contains(event.target)) doing = dragShape(event);
  else doing = look(event);
  if (event.pointerType === "mouse") event.preventDefault();
  if (!handle) box.focus({ preventScroll: true });
});
box.addEventListener("pointermove", (event) => {
  if (!fingers.has(event.pointerId)) return;
  const before = fingers.get(event.pointerId);
  fingers.set(event.pointerId, event);
  doing?.move?.(event, before);
});
for (const name of ["pointerup", "pointercancel"]) {
  box.addEventListener(name, (event) => {
    if (!fingers.delete(event.pointerId)) return;
    const ended = doing;
    if (fingers.size === 0) doing = null;
    if (name === "pointerup") ended?.end?.(event);
    else ended?.cancel?.();
  });
}
box.addEventListener("wheel", (event) => {
  if (!event.ctrlKey && !event.metaKey && !event.shiftKey) return;
  event.preventDefault();
  const frame = box.getBoundingClientRect();
  if (event.shiftKey) view.pan(-(event.deltaX || event.deltaY), 0);
  else view.zoom(Math.exp(event.deltaY / 300), [event.clientX - frame.left, event.clientY - frame.top]);
}, { passive: false });

function look(begun) {
  let far = 0;
  const target = begun.target;
  return {
    move(event, before) {
      far += Math.abs(event.clientX - before.clientX) + Math.abs(event.clientY - before.clientY);
      view.pan(event.clientX - before.clientX, event.clientY - before.clientY);
    },
    end() {
      if (far > 8) return;
      const flaw = target.closest?.("[data-flaw]");
      const offer = target.closest?.("[data-offer]");
      if (flaw && form) take(flaw.dataset.flaw);
      else if (offer) document.querySelector(`#offers [data-offer="${offer.dataset.offer}"] button`)?.focus();
    },
  };
}

function pinch() {
  const apart = () => {
    const [a, b] = [...fingers.values()];
    const frame = box.getBoundingClientRect();
    return { d: Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY), at: [(a.clientX + b.clientX) / 2 - frame.left, (a.clientY + b.clientY) / 2 - frame.top] };
  };
  let before = apart();
  return {
    move() {
      if (fingers.size !== 2) return;
      const now = apart();
      view.pan(now.at[0] - before.at[0], now.at[1] - before.at[1]);
      view.zoom(before.d / Math.max(now.d, 1), now.at);
      before = now;
    },
  };
}

function dragPoint(at, handle) {
  sketch.remember();
  handle.focus({ preventScroll: true });
  return { move: (event) => sketch.set(at, view.at(event, sketch.face).point) };
}

function dragShape(begun) {
  const from = sketch.points.map((point) => [...point]);
  const start = view.at(begun, sketch.face).point;
  sketch.remember();
  return {
    move(event) {
      const now = view.at(event, sketch.face).point;
      sketch.moveBy(now[0] - start[0], now[1] - start[1], from);
    },
  };
}

function stroke(begun) {
  const first = view.at(begun);
  if (!sketch.open || sketch.which || sketch.shape !== tool) startOn(first.face);
  const face = sketch.face;
  const before = sketch.points.map((point) => [...point]);
  const path = [view.at(begun, face).point];
  let far = 0;
  return {
    move(event, last) {
      far += Math.hypot(event.clientX - last.clientX, event.clientY - last.clientY);
      path.push(view.at(event, face).point);
      if (far > 8) sketch.replace(tool === "box" ? [path[0], path.at(-1)] : [...before, ...simpler(path, 1.5 * view.mmPerPx)]);
    },
    end() {
      sketch.points = before;
      if (far <= 8) sketch.add(path[0]);
      else if (tool === "box") {
        sketch.points = [];
        sketch.add(path[0], path.at(-1));
      } else sketch.add(...simpler(path, 1.5 * view.mmPerPx));
    },
    cancel() {
      sketch.replace(before);
    },
  };
}

function startOn(face) {
  const kind = field("kind").value;
  sketch.begin(tool, face);
  field("which").value = "";
  field("face").value = face;
  field("kind").value = tool === "line" && !["crack", "check", "split", "shake", "gum_vein"].includes(kind) ? "crack" : kind;
}

// Keys.
box.addEventListener("keydown", (event) => {
  if (event.target !== box) return;
  const arrow = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
  if (arrow && tool === "look") view.pan(-40 * arrow[0], 40 * arrow[1]);
  else if (arrow) moveCross(arrow, event.shiftKey ? 10 : 1);
  else if (event.key === "Enter" && tool !== "look") setByCross();
  else if (event.key === "Backspace" && sketch.points.length) sketch.takeAway(sketch.points.length - 1);
  else if (event.key === "+" || event.key === "=") view.zoom(1 / 1.6);
  else if (event.key === "-") view.zoom(1.6);
  else if (event.key.toLowerCase() === "f" && !event.ctrlKey && !event.metaKey) turn();
  else if (event.key === "Escape") choose("look");
  else return;
  event.preventDefault();
});
part.addEventListener("keydown", (event) => {
  if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z" && form) {
    event.preventDefault();
    undo();
  }
});

function moveCross([dx, dy], step) {
  cursor ??= { face: sketch.open ? sketch.face : "A", point: [Math.max(0, view.x + view.wide / 2), view.width / 2] };
  const [x, y] = cursor.point;
  cursor.point = [Math.min(Math.max(Math.round(x) + dx * step, 0), view.length), Math.min(Math.max(Math.round(y) + dy * step, 0), view.width)];
  view.reveal(cursor.face, cursor.point);
  showCross();
}

function turn() {
  cursor ??= { face: "B", point: [Math.max(0, view.x + view.wide / 2), view.width / 2] };
  cursor.face = cursor.face === "A" ? "B" : "A";
  view.reveal(cursor.face, cursor.point);
  showCross();
}

function setByCross() {
  if (!cursor) return moveCross([0, 0], 1);
  if (!sketch.open || sketch.which || sketch.shape !== tool) startOn(cursor.face);
  sketch.add(cursor.point);
}

function showCross() {
  const [x, y] = view.onDrawing(cursor.face, cursor.point);
  const arm = 14 * view.mmPerPx;
  cross.setAttribute("d", `M${x - arm} ${y}H${x + arm}M${x} ${y - arm}V${y + arm}`);
  if (!cross.isConnected) view.svg.append(cross);
  word.textContent = `${words.cursor} ${cursor.point.join(", ")} mm, ${list.dataset[`face${cursor.face}`]}`;
}

// The flaw in hand and its form say the same.
function told() {
  inHand();
  part.querySelector('[data-do="undo"]')?.toggleAttribute("disabled", !(sketch.past.length || done.length));
  if (!form || !sketch.open) return;
  field("points").value = sketch.corners().map((point) => point.join(",")).join(" ");
  field("shape").value = sketch.shape;
  word.textContent = sketch.which ? "" : words.drawing;
}

// Right below the drawing, within a thumb's reach: what it is, and keeping it.
function inHand() {
  const bar = document.getElementById("in-hand");
  if (!bar) return;
  bar.hidden = !(sketch.open && sketch.enough);
  document.getElementById("it-is").value = field("kind").value;
}

function fill() {
  document.getElementById("it-is").addEventListener("change", (event) => (field("kind").value = event.target.value));
  field("kind").addEventListener("change", inHand);
  if (field("which").value) {
    take(field("which").value);
    return;
  }
  field("points").addEventListener("change", byNumbers);
  field("shape").addEventListener("change", byNumbers);
}

function byNumbers() {
  const points = field("points").value.trim().split(/\s+/).map((pair) => pair.split(",").map(Number));
  if (!points.every((pair) => pair.length === 2 && pair.every(Number.isFinite))) return;
  const which = sketch.which;
  if (!sketch.open) sketch.begin(field("shape").value, field("face").value === "B" ? "B" : "A");
  sketch.which = which;
  sketch.shape = field("shape").value;
  sketch.remember();
  sketch.replace(points);
}

function take(which) {
  const one = live.defects.find((each) => own(each) === which);
  if (!one || !form) return;
  choose("look");
  sketch.take({ which, face: one.face, points: one.outline });
  const said = { which, kind: one.kind, face: one.face, shape: "outline", opening: one.opening ?? "", depth: one.depth ?? "", note: one.note, because: "" };
  for (const [name, value] of Object.entries(said)) field(name).value = value;
  dress(which);
  inHand();
  view.near(sketch.face, one.outline);
  showFlaws();
}

function leave() {
  sketch.clear();
  inHand();
  done.length && told();
  if (!form) return;
  const kind = field("kind").value;
  form.reset();
  for (const name of ["which", "points", "opening", "depth", "note", "because"]) field(name).value = "";
  field("kind").value = kind;
  dress("");
  showFlaws();
}

function dress(which) {
  const title = document.getElementById("draft-title");
  title.textContent = which ? `${title.dataset.which} /${which}` : title.dataset.new;
  const keep = form.querySelector("button.do");
  keep.textContent = which ? keep.dataset.which : keep.dataset.new;
  document.getElementById("take-off").hidden = !which;
  document.getElementById("leave").hidden = !which;
  document.getElementById("draft-word").textContent = "";
}

function own(defect) {
  return defect.id.slice(defect.id.lastIndexOf("/") + 1);
}

// Each flaw's own number stands by it, as in the list, at one size however near one looks.
function showLabels() {
  const size = 13 * view.mmPerPx;
  const texts = live.defects.flatMap((each) => (each.face === "both" ? ["A", "B"] : [each.face]).map((face) => {
    const [x, y] = view.onDrawing(face, each.outline.reduce((a, b) => (b[1] > a[1] ? b : a)));
    const text = made("text", { x, y: y - size / 4, "font-size": size });
    text.textContent = `/${own(each)}`;
    return text;
  }));
  labels.replaceChildren(...texts);
}

function showFlaws() {
  showLabels();
  for (const group of view.svg.querySelectorAll(".face")) {
    const marks = live.defects
      .filter((each) => (each.face === "both" || each.face === group.dataset.face) && own(each) !== sketch.which)
      .flatMap((each) => {
        const d = `M${each.outline.map((point) => point.join(" ")).join("L")}Z`;
        const path = made("path", { class: `flaw ${live.weakening.includes(each.kind) ? "weak" : "sound"}`, "data-flaw": own(each), d });
        const title = made("title");
        title.textContent = `${each.id} ${each.kind.replaceAll("_", " ")}`;
        path.append(title);
        return [made("path", { class: "halo", "data-flaw": own(each), d }), path];
      });
    group.querySelector("[data-flaws]").replaceChildren(...marks);
  }
  const items = live.defects.map((each) => {
    const link = document.createElement("a");
    link.href = `?defect=${own(each)}#draft`;
    link.dataset.flaw = own(each);
    if (own(each) === sketch.which) link.setAttribute("aria-current", "true");
    const said = [["b", `/${own(each)}`], ["span", each.kind.replaceAll("_", " ")], ["small", list.dataset[`face${each.face[0].toUpperCase()}${each.face.slice(1)}`] + (each.state === "open" ? "" : `, ${each.state}`)]];
    for (const [tag, text] of said) link.append(Object.assign(document.createElement(tag), { textContent: text }), " ");
    link.firstChild.className = "number";
    const item = document.createElement("li");
    item.append(link);
    return item;
  });
  list.replaceChildren(...(items.length ? items : [Object.assign(document.createElement("li"), { textContent: list.dataset.none })]));
}

list.addEventListener("click", (event) => {
  const link = event.target.closest("a[data-flaw]");
  if (!link || !form) return;
  event.preventDefault();
  take(link.dataset.flaw);
  part.scrollIntoView({ block: "start" });
});

// Keeping, through the JSON interface.
form?.addEventListener("submit", (event) => {
  event.preventDefault();
  if (event.submitter?.id === "take-off") attempt(takeOff);
  else if (!sketch.enough) document.getElementById("draft-word").textContent = words.few;
  else attempt(keep);
});
document.getElementById("leave")?.addEventListener("click", (event) => {
  event.preventDefault();
  leave();
  word.textContent = words.left;
});

function said() {
  const number = (name) => (field(name).value.trim() === "" ? undefined : Number(field(name).value.replace(",", ".")));
  return { kind: field("kind").value, face: field("face").value, opening: number("opening"), depth: number("depth"), note: field("note").value.trim() || undefined, because: field("because").value };
}

async function keep() {
  const which = sketch.which;
  const path = which ? `${api}/defects/${which}` : `${api}/defects`;
  const before = live.defects.find((each) => own(each) === which);
  const told = await change(which ? "PATCH" : "POST", path, { ...said(), ...sketch.body() });
  done.push(which ? () => change("PATCH", path, backTo(before)) : () => change("DELETE", `${api}/defects/${own(told)}`));
  await fresh();
  choose("look");
  leave();
  word.textContent = `${words.saved}: ${told.id}`;
}

async function takeOff() {
  const before = live.defects.find((each) => own(each) === sketch.which);
  await change("DELETE", `${api}/defects/${sketch.which}?because=${encodeURIComponent(field("because").value)}`);
  done.push(() => change("POST", `${api}/defects`, { ...backTo(before), because: "" }));
  await fresh();
  leave();
  word.textContent = `${words.off}: ${before.id}`;
}

function backTo({ kind, face, outline, depth, opening, note }) {
  return { kind, face, outline, depth: depth ?? undefined, opening: opening ?? undefined, note, because: words.undone };
}

async function undo() {
  if (sketch.open && sketch.undo()) return;
  const act = done.at(-1);
  if (!act) return;
  await attempt(async () => {
    await act();
    done.pop();
    await fresh();
    told();
    word.textContent = words.undone;
  });
}

async function change(method, path, body) {
  const { value, etag } = await send(path, body, { method, headers: { "If-Match": mark } });
  remember(etag);
  return value;
}

function remember(etag) {
  mark = etag;
  for (const input of document.querySelectorAll('[name="mark"]')) input.value = etag.replaceAll('"', "");
}

async function fresh() {
  const { value, etag } = await get(`${api}/defects`);
  remember(etag);
  live.defects = value.defects;
  showFlaws();
}

let pending = null;
async function attempt(act) {
  const line = document.getElementById("draft-word") || word;
  line.textContent = "";
  try {
    await act();
  } catch (error) {
    if (error.status === 412) {
      pending = act;
      await showTheirs();
    } else if (error.status) {
      const faults = (error.problem?.faults || []).map((fault) => `${fault.where}: ${fault.expected}${fault.found ? ` (${fault.found})` : ""}`);
      line.textContent = [error.message, ...faults].join(" ");
    } else line.textContent = words.failed;
  }
}

// Two at one board: the second sees what the first did before anything of theirs is kept.
async function showTheirs() {
  const panel = document.getElementById("conflict");
  const before = new Map(live.defects.map((each) => [own(each), each]));
  await fresh();
  const now = new Map(live.defects.map((each) => [own(each), each]));
  const told = [];
  const name = (each) => `/${own(each)} ${each.kind.replaceAll("_", " ")}`;
  for (const [key, each] of now) {
    if (!before.has(key)) told.push(`${name(each)}: ${panel.dataset.added}`);
    else if (before.get(key).version !== each.version) told.push(`${name(each)}: ${panel.dataset.changed}`);
  }
  for (const [key, each] of before) if (!now.has(key)) told.push(`${name(each)}: ${panel.dataset.removed}`);
  if (!told.length) told.push(panel.dataset.else);
  panel.querySelector("p").textContent = panel.dataset.intro;
  panel.querySelector("ul").replaceChildren(...told.map((text) => Object.assign(document.createElement("li"), { textContent: text })));
  panel.hidden = false;
  panel.focus();
}

async function settle(mine) {
  document.getElementById("conflict").hidden = true;
  const act = pending;
  pending = null;
  if (!mine) {
    leave();
    word.textContent = words.left;
    return;
  }
  if (sketch.which && !live.defects.some((each) => own(each) === sketch.which)) {
    sketch.which = ""; // theirs took it off: mine goes on as a new one
    field("which").value = "";
  }
  if (act) await attempt(act);
}

// What it grades takes a moment, and comes when the rest is there.
const grade = document.getElementById("grade");
if (grade.querySelector("a")) {
  fetch(grade.dataset.part)
    .then((answer) => (answer.ok ? answer.text() : Promise.reject(answer)))
    .then((html) => (grade.innerHTML = html))
    .catch(() => {}); // the link stays
}

// Suggestions are decided where they stand.
document.getElementById("offers")?.addEventListener("submit", (event) => {
  event.preventDefault();
  const { name, value } = event.submitter;
  const item = event.target.closest("li");
  attempt(async () => {
    await change("POST", `${api}/suggestions`, { [name]: [Number(value)] });
    for (const mark_ of view.svg.querySelectorAll(`[data-offer="${value}"]`)) mark_.remove();
    const next = (item.nextElementSibling || item.previousElementSibling)?.querySelector("button");
    item.remove();
    await fresh();
    next?.focus();
  });
});
for (const item of document.querySelectorAll("#offers li")) {
  const lit = (on) => view.svg.querySelectorAll(`[data-offer="${item.dataset.offer}"]`).forEach((each) => each.classList.toggle("lit", on));
  item.addEventListener("focusin", () => lit(true));
  item.addEventListener("focusout", () => lit(false));
  item.addEventListener("pointerenter", () => lit(true));
  item.addEventListener("pointerleave", () => lit(false));
}
