// Sends the example of a request, as it was edited, and shows the answer under it.

const field = document.createElement("input");
field.type = "password";
field.autocomplete = "off";
const label = document.createElement("label");
label.append("Token for trying, if the service asks for one. It is kept in memory only. ", field);
const form = document.createElement("form");
form.append(label);
form.addEventListener("submit", (event) => event.preventDefault());
document.querySelector("ul").before(form);

async function send(path, body, shown) {
  shown.textContent = "Waiting for the answer.";
  const headers = { "Content-Type": "application/json" };
  if (field.value) headers.Authorization = `Bearer ${field.value}`;
  try {
    const answer = await fetch(path, { method: "POST", headers, body });
    const text = await answer.text();
    const isJson = /json$/.test(answer.headers.get("Content-Type"));
    shown.textContent = `${answer.status}\n${isJson ? JSON.stringify(JSON.parse(text), null, 2) : text}`;
  } catch {
    shown.textContent = "The service cannot be reached.";
  }
}

for (const example of document.querySelectorAll("pre[data-path]")) {
  const button = document.createElement("button");
  const shown = document.createElement("pre");
  const { path } = example.dataset;
  button.textContent = "Try it";
  button.setAttribute("aria-label", `Send this example to ${path}`);
  shown.setAttribute("role", "status");
  example.contentEditable = "plaintext-only";
  example.setAttribute("role", "textbox");
  example.setAttribute("aria-multiline", "true");
  example.setAttribute("aria-label", `Request to ${path}`);
  example.spellcheck = false;
  button.addEventListener("click", () => send(path, example.textContent, shown));
  example.after(button, shown);
}
