// Watches an errand and shows how far it is; when it is over, the page is read again.
import { get } from "./base.js";

const sheet = document.getElementById("errand");
const number = sheet.dataset.errand;
const show = (name, text) => {
  const place = sheet.querySelector(`[data-now="${name}"]`);
  if (place && text !== null && place.textContent !== text) place.textContent = text;
};

let wait = 700;
async function look() {
  try {
    const { value } = await get(`/api/errands/${number}`);
    if (["done", "failed", "dropped"].includes(value.state)) {
      if (value.state === "done" && value.page && sheet.dataset.go) location.replace(value.page);
      else location.reload();
      return;
    }
    const far = value.progress || {};
    show("best", typeof far.best === "number" ? far.best.toFixed(2) : null);
    show("bound", typeof far.bound === "number" ? far.bound.toFixed(2) : null);
    show("gap", typeof far.gap === "number" ? `${(far.gap * 100).toFixed(1)} %` : null);
    show("seconds", typeof far.seconds === "number" ? `${far.seconds.toFixed(0)} s` : null);
    wait = 700;
  } catch {
    wait = Math.min(wait * 2, 15_000); // the server may be starting again
  }
  setTimeout(look, wait);
}
look();
