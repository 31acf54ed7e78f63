// Asks the service. The token is kept in memory only, and of several questions the latest counts.

const DELAY = 250; // ms without a key before the service is asked
const access = document.getElementById("access");
const tokenField = document.getElementById("token");
let token = "";

export class Problem extends Error {
  constructor(status, { detail, errors = [] }) {
    super(detail);
    this.status = status;
    this.errors = errors;
  }
}

export async function ask(path, body, accept = "application/json", signal = undefined) {
  const headers = { Accept: accept };
  if (token) headers.Authorization = `Bearer ${token}`;
  if (body) headers["Content-Type"] = "application/json";
  const method = body ? "POST" : "GET";
  const answer = await fetch(path, { method, headers, signal, body: body && JSON.stringify(body) });
  if (answer.ok) return accept === "application/json" ? answer.json() : answer.text();
  if (answer.status === 401) {
    access.hidden = false;
    if (token) document.getElementById("token-fault").textContent = "This token is not known.";
  }
  const unknown = { detail: "The service did not say what is wrong. Nothing was checked." };
  throw new Problem(answer.status, await answer.json().catch(() => unknown));
}

export function wordsOf(fault) {
  return fault instanceof Problem
    ? fault.message
    : "The service cannot be reached. Nothing was checked.";
}

// Gives a function that runs a task once the typing stops, and ends the one before.
export function latest(task) {
  let running = null;
  let timer = 0;
  return (...given) => {
    clearTimeout(timer);
    running?.abort();
    const current = (running = new AbortController());
    timer = setTimeout(() => task(current.signal, ...given), DELAY);
  };
}

// A tab must be opened in the click itself, before the answer is there.
export async function openPaper(path, body) {
  const tab = window.open("", "_blank");
  if (!tab) throw new Problem(0, { detail: "The browser opened no tab. Allow it, then click again." });
  try {
    const page = await ask(`v1/${path}`, body, "text/html");
    const url = URL.createObjectURL(new Blob([page], { type: "text/html" }));
    tab.location = url;
  } catch (fault) {
    tab.close();
    throw fault;
  }
}

export function whenTokenGiven(then) {
  access.addEventListener("submit", (event) => {
    event.preventDefault();
    token = tokenField.value.trim();
    document.getElementById("token-fault").textContent = "";
    then().then((known) => {
      if (!known) return;
      tokenField.value = "";
      access.hidden = true;
    });
  });
}
