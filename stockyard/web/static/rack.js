// The rack answers as one types, and fetches further pieces as one scrolls. Pages far out of sight are let go
// of and fetched again when they come near, so that a hundred thousand pieces scroll in a few hundred lines.
import { settled } from "./base.js";

const form = document.getElementById("filter");
const rows = document.getElementById("rows");
const KEPT = 8;
document.documentElement.classList.add("scripted");

let asked = 0;

function address() {
  const wanted = new URLSearchParams();
  for (const [name, value] of new FormData(form)) if (value.trim()) wanted.append(name, value.trim());
  wanted.delete("order", "number");
  const query = wanted.toString();
  return query ? `?${query}` : "";
}

async function fetchRows(query) {
  const answer = await fetch(`/rack/rows${query}`, { headers: { Accept: "text/html" } });
  if (!answer.ok) throw new Error(answer.statusText);
  return answer.text();
}

const answerAsTyped = settled(async () => {
  const query = address();
  const mine = ++asked;
  rows.setAttribute("aria-busy", "true");
  try {
    const html = await fetchRows(query);
    if (mine !== asked) return;
    rows.innerHTML = html;
    history.replaceState(null, "", `/rack${query}`);
    watchEnd();
  } catch {
    if (mine === asked) say(rows.dataset.failed);
  } finally {
    if (mine === asked) rows.removeAttribute("aria-busy");
  }
});

form.addEventListener("input", answerAsTyped);
form.addEventListener("change", answerAsTyped);
form.addEventListener("submit", (event) => {
  event.preventDefault();
  answerAsTyped();
});

function say(text) {
  let line = document.getElementById("rack-word");
  if (!line) {
    line = Object.assign(document.createElement("p"), { id: "rack-word", className: "beware" });
    line.setAttribute("role", "alert");
    rows.append(line);
  }
  line.textContent = text;
}

// Further pages.
const end = new IntersectionObserver(
  (seen) => seen.some((each) => each.isIntersecting) && further(),
  { rootMargin: "1200px" },
);

function watchEnd() {
  end.disconnect();
  const last = rows.querySelector(".further");
  if (last) end.observe(last);
}

let fetching = false;
async function further() {
  const last = rows.querySelector(".further");
  if (!last || fetching) return;
  fetching = true;
  const mine = asked;
  try {
    const html = await fetchRows(new URL(last.querySelector("a").href).search);
    if (mine !== asked) return;
    const more = document.createElement("template");
    more.innerHTML = html;
    last.replaceWith(more.content);
    letGo();
    watchEnd();
  } catch {
    say(rows.dataset.failed);
  } finally {
    fetching = false;
  }
}

// A list out of sight becomes a gap of the same height, which fills again when it comes near.
const near = new IntersectionObserver(
  (seen) => {
    for (const each of seen) if (each.isIntersecting) refill(each.target);
  },
  { rootMargin: "2400px" },
);
const kept = new Map();

function letGo() {
  const lists = [...rows.querySelectorAll("ul.rack")];
  const filled = lists.filter((list) => list.childElementCount > 0);
  const middle = window.scrollY + window.innerHeight / 2;
  const distance = (list) => Math.abs(list.getBoundingClientRect().top + window.scrollY - middle);
  filled.sort((a, b) => distance(b) - distance(a));
  for (const list of filled.slice(0, Math.max(0, filled.length - KEPT))) {
    if (list.contains(document.activeElement)) continue;
    list.style.height = `${list.offsetHeight}px`;
    kept.set(list, list.innerHTML.length > 200_000 ? null : list.innerHTML);
    list.replaceChildren();
    near.observe(list);
  }
}

function refill(list) {
  near.unobserve(list);
  const html = kept.get(list);
  kept.delete(list);
  if (html) list.innerHTML = html;
  list.style.height = "";
  letGo();
}

watchEnd();
