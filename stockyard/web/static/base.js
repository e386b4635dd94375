// What every page shares: remembering the form token, and asking twice where a form says so.

export function token() {
  return document.querySelector('meta[name="csrf"]').content;
}

/** Sends JSON to a path of this app and reads its answer; throws an Error with the problem's own words. */
export async function send(path, body, { method = "POST", headers = {} } = {}) {
  const answer = await fetch(path, {
    method,
    headers: { "Content-Type": "application/json", Accept: "application/json", "X-CSRF-Token": token(), ...headers },
    body: body === undefined ? undefined : JSON.stringify(body),
  });
  return read(answer);
}

/** Reads JSON from a path of this app; throws an Error with the problem's own words. */
export async function get(path, options = {}) {
  return read(await fetch(path, { headers: { Accept: "application/json" }, ...options }));
}

async function read(answer) {
  const isJson = (answer.headers.get("Content-Type") || "").includes("json");
  const told = isJson ? await answer.json() : null;
  if (!answer.ok) {
    const error = new Error(told?.detail || answer.statusText);
    error.status = answer.status;
    error.problem = told;
    throw error;
  }
  return { value: told, etag: answer.headers.get("ETag") };
}

/** Waits until a person has stopped typing. */
export function settled(act, ms = 180) {
  let waiting;
  return (...given) => {
    clearTimeout(waiting);
    waiting = setTimeout(() => act(...given), ms);
  };
}

document.addEventListener("submit", (event) => {
  const ask = event.target.dataset.ask || event.submitter?.dataset.ask;
  if (ask && !window.confirm(ask)) event.preventDefault();
});
