// Pictures on their way: kept in this device's own store until the yard has them, sent again after a lost
// connection, and followed until they are put to scale and read.
import { get, token } from "./base.js";

const NAME = "stockyard-pictures";
const listeners = new Set();
const far = new Map(); // key -> share sent, while it is being sent

function store(how, act) {
  return new Promise((done, failed) => {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("pictures", { keyPath: "key" });
    asked.onerror = () => failed(asked.error);
    asked.onsuccess = () => {
      const within = asked.result.transaction("pictures", how);
      const request = act(within.objectStore("pictures"));
      within.oncomplete = () => (asked.result.close(), done(request?.result));
      within.onerror = within.onabort = () => (asked.result.close(), failed(within.error));
    };
  });
}

const put = (entry) => store("readwrite", (all) => all.put(entry));
export const drop = async (key) => (await store("readwrite", (all) => all.delete(key)), tell());
export const entries = async () => (await store("readonly", (all) => all.getAll())).sort((a, b) => a.at - b.at);

/** Takes pictures of a face to be sent. Resolves once they are safe on this device. */
export async function keep({ board, face, end1 = "left", marker = "", corners = "", pictures }) {
  const key = `${Date.now().toString(36)}-${Math.random().toString(36).slice(2, 12)}`;
  navigator.storage?.persist?.();
  await put({ key, board, face, end1, marker, corners, pictures, at: Date.now(), state: "waiting" });
  tell();
  pump();
  return key;
}

/** Sends again what was not kept, with what was set right meanwhile. */
export async function again(entry, changes = {}) {
  const key = `${Date.now().toString(36)}-${Math.random().toString(36).slice(2, 12)}`;
  await put({ ...entry, ...changes, key, state: "waiting", errand: null, said: null, result: null });
  await drop(entry.key);
  pump();
}

/** Calls `hear` with every entry whenever one changes. */
export function watch(hear) {
  listeners.add(hear);
  tell();
}

async function tell() {
  const all = await entries();
  for (const hear of listeners) hear(all, far);
}

// Sending goes on while what has arrived is worked on; each begins again by itself, ever more slowly while
// there is no connection or the server is starting again.
const pump = steady("waiting", send);
const chase = steady("sent", follow);
window.addEventListener("online", () => (pump(), chase()));

function steady(state, act) {
  let busy = false;
  let rest = 1_000;
  let waiting;
  return async function go() {
    if (busy) return;
    clearTimeout(waiting);
    busy = true;
    try {
      let next;
      while ((next = (await entries()).find((entry) => entry.state === state))) await act(next);
      rest = 1_000;
    } catch {
      waiting = setTimeout(go, rest);
      rest = Math.min(rest * 2, 30_000);
    } finally {
      busy = false;
      await tell();
    }
  };
}

async function send(entry) {
  const form = new FormData();
  for (const [name, value] of Object.entries({ key: entry.key, face: entry.face, end1: entry.end1, marker_mm: entry.marker, corners: entry.corners })) form.append(name, value);
  for (const { name, blob } of entry.pictures) form.append("pictures", blob, name);
  const answer = await new Promise((done, failed) => {
    const request = new XMLHttpRequest();
    request.open("POST", `/api/boards/${encodeURIComponent(entry.board)}/photos`);
    request.setRequestHeader("X-CSRF-Token", token());
    request.setRequestHeader("Accept", "application/json");
    request.timeout = 300_000;
    request.upload.onprogress = (event) => {
      far.set(entry.key, event.loaded / event.total);
      tell();
    };
    request.onload = () => done(request);
    request.onerror = request.ontimeout = failed;
    request.send(form);
  }).finally(() => far.delete(entry.key));
  const told = parsed(answer.responseText);
  if (answer.status === 202) Object.assign(entry, { state: "sent", errand: told.id, page: null });
  else if (answer.status >= 500 || answer.status === 401) throw new Error(answer.statusText);
  else Object.assign(entry, { state: "failed", said: words(told) });
  await put(entry);
  await tell();
  chase();
}

async function follow(entry) {
  for (;;) {
    let value;
    try {
      ({ value } = await get(`/api/errands/${entry.errand}`));
    } catch (error) {
      if (error.status !== 404) throw error;
      value = { state: "failed", complaint: { message: error.message, faults: [] } };
    }
    if (value.state === "done") {
      Object.assign(entry, { state: value.result.kept ? "kept" : "hand", result: value.result });
      if (value.result.kept) entry.pictures = [];
      else entry.said = words({ detail: value.result.refused, faults: value.result.faults });
      await put(entry);
      return tell();
    }
    if (value.state === "failed" || value.state === "dropped") {
      Object.assign(entry, { state: "failed", said: words({ detail: value.complaint?.message, faults: value.complaint?.faults }) });
      await put(entry);
      return tell();
    }
    const stage = value.progress?.stage || "queued";
    if (entry.stage !== stage) {
      entry.stage = stage;
      await put(entry);
      await tell();
    }
    await new Promise((done) => setTimeout(done, 500));
  }
}

function parsed(text) {
  try {
    return JSON.parse(text);
  } catch {
    return {};
  }
}

function words(told) {
  const faults = (told.faults || []).map((fault) => `${fault.where}: ${fault.expected}`);
  return [told.detail || "", ...faults].join(" ").trim();
}

// The list of what is on its way, wherever a page has a place for it.
const place = document.getElementById("uploads");
if (place) {
  watch(show);
  pump();
  chase();
}

function show(all, sent) {
  const t = place.dataset;
  place.hidden = all.length === 0;
  const items = all.map((entry) => {
    const item = document.createElement("li");
    item.dataset.state = entry.state;
    const head = document.createElement("span");
    const number = Object.assign(document.createElement("b"), { className: "number", textContent: entry.board });
    head.append(number, ` ${t.face} ${entry.face}: `);
    const share = sent.get(entry.key);
    if (share !== undefined) {
      head.append(`${t.sending}, ${Math.round(share * 100)} % `);
      const bar = Object.assign(document.createElement("progress"), { max: 1, value: share });
      bar.setAttribute("aria-label", t.sending);
      item.append(head, bar);
    } else {
      head.append(said(entry, t));
      item.append(head);
    }
    const acts = document.createElement("span");
    acts.className = "row";
    if (entry.state === "kept") acts.append(link(`/board/${encodeURIComponent(entry.board)}#suggestions`, t.look));
    if (entry.state === "hand" && entry.result.corners_px?.length === 1) acts.append(link(`/photograph/${encodeURIComponent(entry.board)}?face=${entry.face}&entry=${entry.key}`, t.correct));
    if (entry.state === "failed" || entry.state === "hand") acts.append(button(t.again, () => again(entry)));
    if (entry.state !== "sent") acts.append(button(entry.state === "kept" ? "✓" : t.drop, () => drop(entry.key), `${t.drop} ${entry.board} ${entry.face}`));
    item.append(acts);
    return item;
  });
  place.querySelector("ul").replaceChildren(...items);
}

function said(entry, t) {
  if (entry.state === "waiting") return t.waits;
  if (entry.state === "sent") return t[entry.stage] || t.queued;
  if (entry.state === "hand") return `${t.hand}. ${entry.said}`;
  if (entry.state === "failed") return `${t.failed}. ${entry.said}`;
  const scale = entry.result.scale;
  const remarks = scale.remarks.length ? `. ${scale.remarks.join(" ")}` : "";
  return `${t.kept}, ${t[scale.way]}, ${Math.max(...scale.seen_mm_per_px).toFixed(2)} mm/px, ${entry.result.suggestions} ${t.suggests}${remarks}`;
}

function link(href, text) {
  return Object.assign(document.createElement("a"), { href, className: "button", textContent: text });
}

function button(text, act, label) {
  const made = Object.assign(document.createElement("button"), { type: "button", textContent: text });
  if (label) made.setAttribute("aria-label", label);
  made.addEventListener("click", act);
  return made;
}
