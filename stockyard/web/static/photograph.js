// A face taken with the phone: its corners found and shown, kept on the device at once, sent when it can be.
import { token } from "./base.js";
import { showCorners } from "./corners.js";
import { again, entries, keep } from "./uploads.js";

const form = document.getElementById("take");
if (form) take();

function take() {
  document.documentElement.classList.add("scripted");
  const t = form.dataset;
  const sight = document.getElementById("sight");
  const place = document.getElementById("corners");
  const several = document.getElementById("several");
  const word = document.getElementById("scale-word");
  const keepNext = document.getElementById("keep-next");
  const field = (name) => form.elements.namedItem(name);
  let pictures = []; // [{name, blob}]
  let corrected = null; // an entry that came back to be set right
  let looked = 0;

  for (const input of [document.getElementById("camera"), document.getElementById("chosen")]) {
    input.addEventListener("change", () => {
      pictures.push(...[...input.files].map((file) => ({ name: file.name, blob: file })));
      input.value = "";
      look();
    });
  }
  for (const radio of form.querySelectorAll('[name="face"]')) radio.addEventListener("change", look);
  field("end1").addEventListener("change", look);
  field("marker_mm").addEventListener("change", look);
  back();

  /** What was sent and could not be put to scale comes back with its pictures and corners to begin with. */
  async function back() {
    const key = new URLSearchParams(location.search).get("entry");
    corrected = key && (await entries()).find((entry) => entry.key === key);
    if (!corrected) return;
    pictures = corrected.pictures;
    field("end1").value = corrected.end1;
    await look(corrected.result);
  }

  async function look(known) {
    const mine = ++looked;
    const busy = pictures.length > 0;
    sight.hidden = !busy;
    if (keepNext) keepNext.hidden = !busy;
    document.getElementById("skip")?.toggleAttribute("hidden", busy);
    field("corners").value = "";
    place.replaceChildren();
    several.replaceChildren(...(pictures.length > 1 ? pictures.map(shot) : []));
    if (!busy) return;
    if (pictures.length > 1) {
      word.textContent = t.several;
      return;
    }
    const bitmap = await createImageBitmap(pictures[0].blob).catch(() => null);
    if (mine !== looked) return;
    if (!bitmap) {
      word.textContent = t.unseen;
      return;
    }
    word.textContent = t.finding;
    const found = known?.corners_px ? { ...known, share: 1 } : await preview(bitmap).catch(() => null);
    if (mine !== looked) return;
    if (!found) {
      word.textContent = t.offline;
      return;
    }
    const corners = found.corners_px[0].map(([u, v]) => [u / found.share, v / found.share]);
    tell(found);
    showCorners(place, bitmap, corners, (moved) => {
      field("corners").value = moved.map((corner) => corner.join(",")).join(" ");
      word.textContent = t.moved;
    });
    if (found.refused) field("corners").value = corners.map((corner) => corner.map((n) => n.toFixed(1)).join(",")).join(" ");
  }

  /** Where the corners lie: asked for with a small copy first, since a weak connection carries that too. */
  async function preview(bitmap) {
    const share = Math.min(1, 2400 / Math.max(bitmap.width, bitmap.height));
    let blob = pictures[0].blob;
    if (share < 1) {
      const small = new OffscreenCanvas(Math.round(bitmap.width * share), Math.round(bitmap.height * share));
      small.getContext("2d").drawImage(bitmap, 0, 0, small.width, small.height);
      blob = await small.convertToBlob({ type: "image/jpeg", quality: 0.88 });
    }
    const ask = new FormData();
    for (const name of ["end1", "marker_mm"]) ask.append(name, field(name).value);
    ask.append("face", field("face").value);
    ask.append("pictures", blob, pictures[0].name.replace(/\.\w+$/, share < 1 ? ".jpg" : "$&"));
    const answer = await fetch(`/api/boards/${encodeURIComponent(t.board)}/photos/preview`, { method: "POST", body: ask, headers: { "X-CSRF-Token": token(), Accept: "application/json" } });
    const told = await answer.json();
    if (!answer.ok) {
      word.textContent = told.detail;
      throw new Error(told.detail);
    }
    return { ...told, share };
  }

  function tell(found) {
    if (found.refused) {
      const faults = found.faults.map((fault) => `${fault.where}: ${fault.expected}`);
      word.textContent = [found.refused, ...faults].join(" ");
      return;
    }
    const scale = found.scale;
    const [along, across] = scale.disagrees_pct;
    const finest = scale.finest_mm ? `; ${t.finest} ${(scale.finest_mm * found.share).toFixed(1)} mm` : "";
    const per = Math.max(...scale.seen_mm_per_px) * found.share;
    word.textContent = `${t.found} ${t[scale.way]}, ${per.toFixed(2)} ${t.per}${finest}; ${signed(along)} × ${signed(across)} % ${t.differs}. ${scale.remarks.join(" ")}`;
  }

  function shot(picture, at) {
    const item = document.createElement("li");
    const image = Object.assign(document.createElement("img"), { src: URL.createObjectURL(picture.blob), alt: picture.name });
    image.addEventListener("load", () => URL.revokeObjectURL(image.src));
    item.append(image);
    const act = (text, doing) => {
      const button = Object.assign(document.createElement("button"), { type: "button", textContent: text });
      button.setAttribute("aria-label", `${text}: ${picture.name}`);
      button.addEventListener("click", () => (doing(), look()));
      item.append(button);
    };
    if (at > 0) act(several.dataset.earlier, () => pictures.splice(at - 1, 2, picture, pictures[at - 1]));
    act(several.dataset.without, () => pictures.splice(at, 1));
    return item;
  }

  form.addEventListener("submit", async (event) => {
    if (!pictures.length) return; // as a plain form, which says what is missing
    event.preventDefault();
    const onward = event.submitter?.id === "keep-next";
    const given = { board: t.board, face: field("face").value, end1: field("end1").value, marker: field("marker_mm").value, corners: pictures.length === 1 ? field("corners").value : "", pictures };
    try {
      if (corrected) await again(corrected, { corners: given.corners, end1: given.end1, marker: given.marker });
      else await keep(given);
    } catch {
      word.textContent = t.full;
      return;
    }
    if (onward) {
      location.assign(`/photograph/${encodeURIComponent(t.next)}`);
      return;
    }
    pictures = [];
    corrected = null;
    const other = form.querySelector(`[name="face"][value="${given.face === "A" ? "B" : "A"}"]`);
    other.checked = true;
    await look();
    document.getElementById("uploads").scrollIntoView({ block: "nearest" });
  });
}

function signed(pct) {
  return `${pct > 0 ? "+" : ""}${pct.toFixed(1)}`;
}
