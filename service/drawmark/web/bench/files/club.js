// The club's rule sets, and the inputs of its plugins as the document describes them.

import { make } from "./fields.js";
import { ask } from "./service.js";

const KINDS = { Length: "length", Mass: "mass", Force: "force", StaticSpine: "spine", MassPerLength: "linear" };
const place = document.getElementById("local");

export async function showClub() {
  const { rulesets } = await ask("v1/rulesets");
  const { plugins } = await ask("v1/plugins");
  showRuleSets(rulesets);
  place.querySelectorAll(".input").forEach((one) => one.remove());
  if (plugins.some((one) => one.plugin !== "core")) {
    const { schemas } = (await ask("openapi.json")).components;
    for (const [plugin, { $ref }] of Object.entries(schemas.Local.properties ?? {})) {
      const inputs = Object.entries(schemas[nameOf($ref)].properties);
      place.append(...inputs.map(([name, input]) => fieldOf(plugin, name, input, schemas)));
    }
  }
  document.getElementById("club").hidden = rulesets.length < 2 && !place.querySelector(".input");
}

function nameOf(reference = "") {
  return reference.split("/").at(-1);
}

function showRuleSets(rulesets) {
  const options = rulesets.map((one) => {
    const option = make("option", "", one.title || one.ruleset);
    option.value = one.ruleset;
    option.selected = one.default;
    return option;
  });
  document.getElementById("ruleset").replaceChildren(...options);
  document.getElementById("ruleset-field").hidden = rulesets.length < 2;
}

function fieldOf(plugin, name, input, schemas) {
  const id = `local/${plugin}/${name}`;
  const described = input.$ref ? { ...schemas[nameOf(input.$ref)], ...input } : input;
  const words = (described.description ?? name).split(/(?<=\.) /)[0].replace(/\.$/, "");
  const label = make("label", "", words);
  label.htmlFor = id;
  const field = entryOf(described, KINDS[nameOf(input.$ref)]);
  field.id = id;
  field.dataset.field = id;
  field.autocomplete = "off";
  field.setAttribute("aria-describedby", `${id}-fault`);
  const fault = make("span", "fault");
  fault.id = `${id}-fault`;
  return make("p", "field input", label, withUnit(field), make("span", "hint", plugin), fault);
}

function entryOf({ type, enum: words }, kind) {
  if (words || type === "boolean") {
    const pairs = words ? words.map((word) => [word, word]) : [["true", "yes"], ["false", "no"]];
    const field = make("select", "", ...[["", "Not known"], ...pairs].map(([value, text]) => new Option(text, value)));
    if (!words) field.dataset.kind = "flag";
    return field;
  }
  const field = make("input");
  field.size = 6;
  if (kind) field.dataset.kind = kind;
  else if (type === "number" || type === "integer") field.dataset.kind = "number";
  if (field.dataset.kind) field.inputMode = "decimal";
  return field;
}

function withUnit(field) {
  const unit = make("span", "unit");
  if (!field.dataset.kind || ["flag", "number"].includes(field.dataset.kind)) return field;
  unit.dataset.unit = field.dataset.kind;
  return make("span", "entry", field, unit);
}
