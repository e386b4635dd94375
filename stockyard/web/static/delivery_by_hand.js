// Board by board with gloves on: big keys, last values kept, sums at once. What was entered stays on this
// device until it is booked, whatever becomes of the page or the connection.
const form = document.getElementById("hand");
const list = document.getElementById("entered");
const word = document.getElementById("hand-word");
const HEADER = form.dataset.header;
const NAMES = ["species", "length", "width", "thickness", "pieces", "price", "price_unit", "note"];
const field = (name) => form.elements.namedItem(name); // form.length is another thing
const SIZES = ["length", "width", "thickness"];

// In inches the server reads what is typed: every line then goes there and back.
if (form.dataset.units === "mm") byHand();

function byHand() {
  let lines = parse(field("text").value);
  if (!lines.length) lines = parse(localStorage.getItem("entered by hand") || "");
  show();

  form.addEventListener("submit", (event) => {
    const asked = event.submitter;
    if (asked?.id === "go-on") return;
    event.preventDefault();
    if (asked?.name === "off") lines.splice(Number(asked.value), 1);
    else if (!add()) return;
    show();
  });

  function add() {
    const line = Object.fromEntries(NAMES.map((name) => [name, field(name).value.trim()]));
    const wrong = [...SIZES, "pieces"].filter((name) => !(number(line[name]) > 0));
    if (!Number.isInteger(number(line.pieces))) wrong.push("pieces");
    if (line.price && !(number(line.price) >= 0)) wrong.push("price");
    if (!line.species) wrong.unshift("species");
    for (const name of ["species", ...SIZES, "pieces", "price"]) {
      field(name).toggleAttribute("aria-invalid", false);
      if (wrong.includes(name)) field(name).setAttribute("aria-invalid", "true");
      field(name).closest(".field").classList.toggle("wrong", wrong.includes(name));
    }
    if (wrong.length) {
      word.textContent = form.dataset.faulty;
      choose(field(wrong[0]));
      return false;
    }
    for (const name of [...SIZES, "pieces", "price"]) line[name] = line[name].replace(",", ".");
    lines.push(line);
    word.textContent = `${form.dataset.added}: ${told(line)}`;
    field("pieces").value = "1";
    choose(field("length"));
    return true;
  }

  function show() {
    const text = write(lines);
    field("text").value = text;
    if (lines.length) localStorage.setItem("entered by hand", text);
    else localStorage.removeItem("entered by hand");
    document.getElementById("go-on").disabled = !lines.length;
    list.replaceChildren(...lines.map(item).reverse());
    const sums = { pieces: 0, m3: 0, run: 0, money: 0 };
    for (const line of lines) {
      const pieces = number(line.pieces);
      const [l, w, t] = SIZES.map((name) => number(line[name]));
      const one = { piece: 1, "lineal metre": l / 1e3, m3: (l * w * t) / 1e9 }[line.price_unit || "piece"];
      sums.pieces += pieces;
      sums.m3 += (pieces * l * w * t) / 1e9;
      sums.run += (pieces * l) / 1e3;
      sums.money += line.price ? pieces * one * number(line.price) : 0;
    }
    const shown = { pieces: `${sums.pieces}`, m3: `${sums.m3.toFixed(3)} m³`, run: `${sums.run.toFixed(1)} m`, money: sums.money.toFixed(2) };
    for (const [name, said] of Object.entries(shown)) document.querySelector(`[data-sum="${name}"]`).textContent = said;
  }

  function item(line, place) {
    const row = document.createElement("li");
    const said = document.createElement("span");
    const figures = Object.assign(document.createElement("b"), { className: "figures", textContent: told(line) });
    said.append(figures, ` ${line.species}${line.price ? `, ${line.price}/${line.price_unit || "piece"}` : ""}${line.note ? `, ${line.note}` : ""}`);
    const off = Object.assign(document.createElement("button"), { name: "off", value: `${place}`, className: "off", textContent: form.dataset.off });
    off.setAttribute("aria-label", `${form.dataset.off} ${told(line)}`);
    row.append(said, off);
    return row;
  }

  // The keys. A value that was kept is replaced by the first figure that is pressed.
  const keys = document.getElementById("keys");
  const fields = [...form.querySelectorAll("[data-key]")];
  let chosen = fields[0];
  let kept = true;
  keys.hidden = false;
  for (const each of fields) {
    each.addEventListener("focus", () => ((chosen = each), (kept = true), mark()));
    each.addEventListener("input", () => (kept = false));
  }
  keys.addEventListener("click", (event) => {
    const key = event.target.dataset?.press;
    if (!key) return;
    if (key === "next") {
      choose(fields[(fields.indexOf(chosen) + 1) % fields.length]);
      return;
    }
    const stands = kept && key !== "back" ? "" : chosen.value;
    kept = false;
    if (key === "back") chosen.value = stands.slice(0, -1);
    else if (key !== "." || !stands.includes(".")) chosen.value = stands + key;
    mark();
  });

  function choose(next) {
    if (fields.includes(next)) {
      chosen = next;
      kept = true;
      mark();
    }
    // With the keys on the page, a phone's own keyboard would only be in the way.
    if (!matchMedia("(pointer: coarse)").matches) {
      next.focus();
      next.select?.();
    }
  }

  function mark() {
    for (const each of fields) each.classList.toggle("chosen", each === chosen);
  }
  mark();
}

function told(line) {
  return `${line.pieces} × ${line.length} × ${line.width} × ${line.thickness} mm`;
}

function number(text) {
  const plain = String(text).trim().replace(",", ".");
  return /^\d+(\.\d+)?$/.test(plain) ? Number(plain) : NaN;
}

function write(lines) {
  const cell = (text) => (/[",\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
  return [HEADER, ...lines.map((line) => NAMES.map((name) => cell(name === "price_unit" && !line.price ? "" : line[name])).join(","))].join("\n") + "\n";
}

function parse(text) {
  const rows = text.split("\n").slice(1).filter(Boolean).map(cells);
  return rows.filter((row) => row.length === NAMES.length).map((row) => Object.fromEntries(NAMES.map((name, place) => [name, row[place]])));
}

function cells(row) {
  const found = [];
  for (const [, quoted, bare] of row.matchAll(/(?:^|,)(?:"((?:[^"]|"")*)"|([^,]*))/g)) found.push(quoted === undefined ? bare : quoted.replaceAll('""', '"'));
  return found;
}
