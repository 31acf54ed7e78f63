// Reads fields into a request, and puts what the service says about them beside them.

// 28, 28.5, 28,5, 28 1/2, each with or without a unit.
const FIGURE = /^(-?\d+(?:[.,]\d+)?)?(?:(?:^|[ -])(\d+)\/(\d+))?\s*([a-zA-Z/-]*)$/;
const LINEAR = { gr: "gr/in", g: "g/m" };
export const shown = { length: "in", mass: "gr", force: "lbf", spine: "astm", linear: "gr/in" };

export function reportIn() {
  return { length: shown.length, mass: shown.mass, force: shown.force };
}

function quantityOf(text, kind) {
  const found = FIGURE.exec(text);
  if (!found || found[0] === found[4]) return { value: text, unit: shown[kind] };
  const [, whole = "0", upper = "0", lower = "1", unit] = found;
  return { value: Number(whole.replace(",", ".")) + upper / lower, unit: unit || shown[kind] };
}

function valueOf(field) {
  if (field.type === "checkbox") return field.checked || undefined;
  const text = field.value.trim();
  if (text === "") return undefined;
  const kind = field.dataset.kind;
  if (kind === "count" || kind === "number") return Number.isNaN(Number(text)) ? text : Number(text);
  if (kind === "flag") return text === "true";
  return kind ? quantityOf(text, kind) : text;
}

function isGiven(root, name) {
  return root.querySelector(`[data-field="${name}"]`).value.trim() !== "";
}

// Numbers are members of lists. A plugin's name may be one that every object inherits.
function place(body, path, value) {
  const last = path.pop();
  const inner = path.reduce((at, step, depth) => {
    at[step] ??= /^\d+$/.test(path[depth + 1] ?? last) ? [] : Object.create(null);
    return at[step];
  }, body);
  inner[last] = value;
}

export function read(root) {
  const body = {};
  for (const field of root.querySelectorAll("[data-field]")) {
    const { field: name, with: other } = field.dataset;
    const value = valueOf(field);
    if (value === undefined || name.includes("*") || (other && !isGiven(root, other))) continue;
    place(body, name.split("/"), value);
  }
  return body;
}

function placeOf(field) {
  const id = field.getAttribute("aria-describedby");
  return id ? document.getElementById(id) : field.parentNode.querySelector(".fault");
}

export function clearFaults(root) {
  for (const field of root.querySelectorAll("[aria-invalid]")) {
    field.removeAttribute("aria-invalid");
    placeOf(field).textContent = "";
  }
}

// Puts each fault at the field that it names, and gives the others as text.
export function putFaults(root, errors) {
  const fields = [...root.querySelectorAll("[data-field]")];
  const rest = [];
  for (const { pointer, detail } of errors) {
    const path = `${pointer.slice(2)}/`;
    const field = fields.find((one) => path.startsWith(`${one.dataset.field}/`));
    if (!field) {
      rest.push(pointer.length > 1 ? `${pointer.slice(2)} ${detail}.` : `${detail}.`);
      continue;
    }
    field.setAttribute("aria-invalid", "true");
    placeOf(field).textContent = `${detail[0].toUpperCase()}${detail.slice(1)}.`;
    const folded = field.closest("details");
    if (folded) folded.open = true;
  }
  return rest.join(" ");
}

function showUnits(root) {
  for (const one of root.querySelectorAll("[data-unit]")) {
    const unit = shown[one.dataset.unit];
    one.textContent = { astm: "", lbf: "lb" }[unit] ?? unit;
  }
}

// A change of units never changes what was typed: older figures keep their unit.
export function setUnit(kind, unit) {
  const changed = kind === "mass" ? ["mass", "linear"] : [kind];
  for (const one of changed) {
    for (const field of document.querySelectorAll(`[data-kind="${one}"]`)) {
      if (/\d$/.test(field.value.trim())) field.value = `${field.value.trim()} ${shown[one]}`;
    }
  }
  shown[kind] = unit;
  if (kind === "mass") shown.linear = LINEAR[unit];
  showUnits(document);
  markOwnUnits(document);
}

export function markOwnUnits(root) {
  for (const field of root.querySelectorAll(".entry input")) {
    field.parentNode.classList.toggle("own", /[a-zA-Z]/.test(field.value));
  }
}

// Not every way to choose from a list tells of it by `input`.
export function whenChanged(form, then) {
  form.addEventListener("input", then);
  form.addEventListener("change", (event) => event.target.localName === "select" && then());
}

export function figureText({ value, unit }) {
  return `${value}\u00a0${unit === "astm" ? "" : unit}`.trim();
}

export function make(tag, className = "", ...inner) {
  const element = document.createElement(tag);
  element.className = className;
  element.append(...inner);
  return element;
}

// How each verdict is said, and its sign.
export const said = Object.fromEntries(
  [...document.querySelectorAll("template.said")].map((one) => [
    one.dataset.verdict,
    { ...one.dataset, sign: () => one.content.firstElementChild.cloneNode(true) },
  ]),
);
