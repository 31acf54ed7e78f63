// An evening's rack: who shoots which set.

import { clearFaults, figureText, make, markOwnUnits, putFaults, read, reportIn, said, whenChanged } from "./fields.js";
import { ask, latest, wordsOf } from "./service.js";

const byId = (id) => document.getElementById(id);
const form = byId("evening");
const ROWS = 3;

// Rows without a name or a figure are left out.
function number() {
  for (const list of ["archers", "sets"]) {
    let at = 0;
    for (const row of byId(list).rows) {
      const isFilled = [...row.querySelectorAll("input")].some((one) => one.value.trim() !== "");
      for (const field of row.querySelectorAll("[data-field]")) {
        field.dataset.field = field.dataset.field.replace(/^\w+\/[\d*]+/, `${list}/${isFilled ? at : "*"}`);
      }
      if (isFilled) at += 1;
    }
  }
}

function request() {
  number();
  const { convention, archers = [], sets = [], arrows_per_archer } = read(form);
  for (const { archer, bow } of archers) {
    if (archer && convention) archer.draw_length_convention = convention;
    if (bow?.draw_weight) bow.draw_weight_basis = "own_draw";
  }
  return { convention, body: { archers, sets, arrows_per_archer, report_in: reportIn() } };
}

function labelRequest() {
  const { convention, body } = request();
  return {
    sets: body.sets.map(({ id, arrow }) => ({ id, arrow })),
    bow: { kind: byId("label-bow").value },
    archer: { draw_length_convention: convention },
    report_in: body.report_in,
  };
}

const check = latest(async (signal) => {
  clearFaults(form);
  const { convention, body } = request();
  if (!convention || !body.archers.length || !body.sets.length) {
    byId("evening-said").textContent = "Still needed: what the draws are measured to, an archer and a set.";
    byId("handed").replaceChildren();
    return;
  }
  try {
    show(await ask("v1/kit/assignments", body, "application/json", signal));
  } catch (fault) {
    if (signal.aborted) return;
    byId("handed").replaceChildren();
    const rest = putFaults(form, fault.errors ?? []);
    byId("evening-said").textContent = `Not checked. ${rest || (fault.errors?.length ? "Mend what is marked." : wordsOf(fault))}`;
  }
});

function show({ assignments, unequipped, equipped, cautions, not_told }) {
  byId("evening-said").textContent = `${equipped} of ${equipped + unequipped.length} archers have a set.`;
  const heads = ["Archer", "Set", "Verdict", "Longer than the minimum by"];
  const rows = [...assignments.map(handed), ...unequipped.map(left)];
  byId("handed").replaceChildren(
    tableOf("Tonight", heads, rows),
    make("ul", "quiet", ...cautions.map((one) => make("li", "", one)), make("li", "", `No figure tells of: ${not_told.join(", ")}.`)),
  );
}

function handed({ archer, set, verdict, margin, findings }) {
  const word = make("span", `word ${verdict}`, said[verdict].sign(), said[verdict].word);
  const why = findings.filter((one) => one.severity === verdict).map((one) => make("p", "quiet", one.message));
  return [archer, set, [word, ...why], figureText(margin)];
}

function left(one) {
  const need = one.would_need ?? one.would_need_at_least;
  const word = make("span", "word stop", said.stop.sign(), "No set");
  const more = need ? ` Needs ${one.would_need ? "" : "at least "}${figureText(need)}.` : "";
  return [one.archer, "none", [word, make("p", "quiet", `${one.remedy}${more}`)], ""];
}

function tableOf(caption, heads, rows) {
  const head = make("tr", "", ...heads.map((text) => {
    const cell = make("th", "", text);
    cell.scope = "col";
    return cell;
  }));
  const body = rows.map((cells) => make("tr", "", ...cells.map((one, at) => {
    const cell = make("td", "", ...[one].flat());
    cell.dataset.head = heads[at];
    return cell;
  })));
  return make("table", "", make("caption", "", caption), make("thead", "", head), make("tbody", "", ...body));
}

function add(list) {
  const row = byId(`${list}-row`).content.firstElementChild.cloneNode(true);
  row.querySelector(".remove").addEventListener("click", () => {
    row.remove();
    document.querySelector(`[data-add="${list}"]`).focus();
    check();
  });
  byId(list).append(row);
  return row;
}

export function startRack(print) {
  for (const list of ["archers", "sets"]) {
    for (let at = 0; at < ROWS; at += 1) add(list);
    document.querySelector(`[data-add="${list}"]`).addEventListener("click", () => add(list).querySelector("input").focus());
  }
  whenChanged(form, () => {
    markOwnUnits(form);
    check();
  });
  form.addEventListener("submit", (event) => event.preventDefault());
  const papers = { "kit/assignments": () => request().body, "kit/labels": labelRequest };
  for (const [path, body] of Object.entries(papers)) {
    form.querySelector(`[data-paper="${path}"]`).addEventListener("click", () => print(path, body(), form, byId("rack-fault")));
  }
}
