// Labels read off the rack: with the camera as it moves along where the browser can read codes itself, from a
// picture read on the server where it cannot, or typed. What could not be sent is kept and sent later.
import { send, settled, token } from "./base.js";

const form = document.getElementById("read");
const word = document.getElementById("count-word");
const soFar = document.getElementById("so-far");
const eye = document.getElementById("eye");
const view = document.getElementById("view");
const openEye = document.getElementById("open-eye");
const typed = form.elements.numbers;
const picture = form.elements.picture;
const KEPT = `count ${form.dataset.numbers}`;

const say = (name, what = "") => { word.textContent = word.dataset[name].replace("{what}", what); };
const numberIn = (held) => held.trim().replace(/\/+$/, "").split("/").pop().toUpperCase();

// A telephone may lose its connection, or run dry: what was read lies here until the books have it.
const waiting = () => JSON.parse(localStorage.getItem(KEPT) || "[]");
const keep = (numbers) => localStorage.setItem(KEPT, JSON.stringify(numbers));

const refresh = settled(async () => {
  const answer = await fetch(form.dataset.soFar, { headers: { Accept: "text/html" } });
  if (answer.ok) soFar.innerHTML = await answer.text();
}, 250);

let sending = false;
async function sendWaiting() {
  const numbers = waiting();
  if (sending || !numbers.length) return;
  sending = true;
  try {
    const { value } = await send(form.dataset.numbers, { numbers });
    keep(waiting().filter((each) => !numbers.includes(each)));
    tell(value, numbers);
    refresh();
  } catch (error) {
    if (error.status && error.status < 500) {
      keep([]);
      word.textContent = error.message;
    } else {
      say("kept", numbers.map(numberIn).join(", "));
    }
  } finally {
    sending = false;
  }
}

function tell(sheet, numbers) {
  const of = new Map(sheet.lines.map((line) => [line.id, line.finding]));
  const read = numbers.map(numberIn);
  const odd = read.filter((number) => of.get(number) !== "found");
  say(odd.length ? "other" : "found", (odd.length ? odd : read).join(", "));
  navigator.vibrate?.(odd.length ? [60, 60, 60] : 60);
}

function read(numbers) {
  keep([...new Set([...waiting(), ...numbers])]);
  return sendWaiting();
}

window.addEventListener("online", sendWaiting);
setInterval(sendWaiting, 8000);
sendWaiting();

form.addEventListener("submit", async (event) => {
  const special = form.elements.take_back.checked || ["length", "width", "thickness"].some((name) => form.elements[name].value);
  if (special || picture.files.length) return;
  event.preventDefault();
  const numbers = typed.value.split(/[\s,]+/).filter(Boolean);
  if (!numbers.length) return typed.focus();
  typed.value = "";
  await read(numbers);
  typed.focus();
});

picture.addEventListener("change", async () => {
  if (!picture.files.length) return;
  say("reading");
  const body = new FormData();
  body.append("picture", picture.files[0]);
  try {
    const answer = await fetch(form.dataset.picture, { method: "POST", body, headers: { Accept: "application/json", "X-CSRF-Token": token() } });
    const told = await answer.json();
    if (!answer.ok) throw new Error(told.detail);
    tell(told, told.read);
    picture.value = "";
    refresh();
  } catch (error) {
    word.textContent = error.message;
  }
});

// The camera itself.
let stream = null;
const seen = new Map();

async function canRead() {
  if (!("BarcodeDetector" in window) || !navigator.mediaDevices) return false;
  return (await BarcodeDetector.getSupportedFormats()).includes("qr_code");
}

async function look(detector) {
  if (!stream) return;
  try {
    const now = Date.now();
    const codes = (await detector.detect(view)).map((each) => each.rawValue).filter(Boolean);
    const fresh = codes.filter((code) => now - (seen.get(code) ?? 0) > 10_000);
    for (const code of codes) seen.set(code, now);
    if (fresh.length) read(fresh);
  } catch {
    // A frame that is not there yet.
  }
  setTimeout(() => look(detector), 160);
}

function shut() {
  stream?.getTracks().forEach((track) => track.stop());
  stream = null;
  eye.hidden = true;
  openEye.hidden = false;
}

openEye.addEventListener("click", async () => {
  try {
    stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
  } catch {
    say("dark");
    return;
  }
  view.srcObject = stream;
  eye.hidden = false;
  openEye.hidden = true;
  view.play().catch(() => say("dark"));
  look(new BarcodeDetector({ formats: ["qr_code"] }));
});
document.getElementById("shut").addEventListener("click", shut);
window.addEventListener("pagehide", shut);

canRead().then((can) => { openEye.hidden = !can; });
