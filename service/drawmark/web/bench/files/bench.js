// One archer: the verdict, the drawing and the reasons follow what is typed.

import { showClub } from "./club.js";
import { clearFaults, figureText, make, markOwnUnits, putFaults, read, reportIn, said, setUnit, shown, whenChanged } from "./fields.js";
import { startRack } from "./rack.js";
import { ask, latest, openPaper, whenTokenGiven, wordsOf } from "./service.js";

const byId = (id) => document.getElementById(id);
const form = byId("asked");
const NEEDED = {
  "archer/draw_length": "the draw",
  "archer/draw_length_convention": "what the draw was measured to",
  "bow/kind": "the kind of bow",
  "arrow/length": "the arrow’s length",
};
const FINEST = { in: 0.05, cm: 0.1, mm: 1, ft: 0.005, m: 0.001 };
const SHORTER = 120; // lengths that are asked about
const BEYOND = 10; // of these, how many after the first stop
let lengths = [];

function request() {
  return { ...read(form), report_in: reportIn() };
}

// A cut takes mass off, so a weighed mass says nothing about a shorter arrow.
function shortened(length) {
  const body = request();
  delete body.arrow.mass;
  return { ...body, arrow: { ...body.arrow, length } };
}

function stillNeeded() {
  const empty = Object.keys(NEEDED).filter((name) => byId(name).value.trim() === "");
  return empty.map((name) => NEEDED[name]).join(", ");
}

function sayVerdict(verdict, words) {
  const sign = byId("sign");
  byId("verdict").className = verdict;
  sign.replaceChildren(...(verdict ? [said[verdict].sign()] : []));
  if (byId("said").textContent === words) return;
  const [first, ...others] = words.split(". ");
  byId("said").replaceChildren(make("strong", "", first, make("span", "aside", ". ")), others.join(". "));
}

function showNothing(words) {
  sayVerdict("", words);
  byId("drawing").replaceChildren();
  byId("reasons").replaceChildren();
  byId("before").replaceChildren();
  byId("shorter").hidden = true;
  byId("measured").hidden = false;
}

// The words above the drawing stand on the page already.
function showDrawing(text) {
  const svg = document.importNode(new DOMParser().parseFromString(text, "image/svg+xml").documentElement, true);
  const above = svg.querySelector(".limb").parentNode;
  byId("drawing").replaceChildren(svg);
  const top = above.transform.baseVal.consolidate().matrix.f;
  const { width, height } = svg.viewBox.baseVal;
  svg.setAttribute("viewBox", `0 ${top} ${width} ${height - top}`);
  byId("measured").hidden = true;
}

function listOf(title, texts) {
  if (!texts.length) return "";
  return make("div", "told", make("h3", "", title), make("ul", "", ...texts.map((one) => make("li", "", one))));
}

function findingOf({ severity, message, plugin, measured, limit }) {
  const words = severity === "note" ? "Note" : said[severity].word;
  const item = make("li", `finding ${severity}`);
  if (said[severity]) item.append(said[severity].sign());
  item.append(make("p", "", make("strong", "", `${words}. `), message));
  const figures = [];
  if (measured?.unit && limit?.unit) figures.push(`Found ${figureText(measured)}, limit ${figureText(limit)}.`);
  if (plugin !== "core") figures.push(`From the rules of ${plugin}.`);
  if (figures.length) item.lastChild.append(make("span", "quiet", ` ${figures.join(" ")}`));
  return item;
}

function showReasons(answer) {
  const named = [
    ["minimum", "Minimum safe length"],
    ["minimum_at_least", "Minimum safe length, at least"],
    ["recommended", "Recommended length"],
    ["longest_safe_draw", "Longest safe draw of this arrow"],
    ["longest_safe_draw_at_most", "Longest safe draw, at most"],
  ].filter(([name]) => answer[name]);
  const figures = named.map(([name, words]) => make("div", "", make("dt", "", words), make("dd", "", figureText(answer[name]))));
  const findings = answer.findings.map(findingOf);
  const open = answer.unevaluated.map((one) => `${one.rule} of ${one.plugin}: ${one.reason}`);
  const details = make("details", "", make("summary", "", `What was not checked (${answer.not_checked.length})`));
  details.append(make("ul", "", ...answer.not_checked.map((one) => make("li", "", one.what))));
  byId("reasons").replaceChildren(
    make("h3", "", "Why"),
    findings.length ? make("ul", "findings", ...findings) : make("p", "", "No rule objects."),
    listOf("Could not be judged", open),
    make("dl", "figures", ...figures),
  );
  byId("before").replaceChildren(
    listOf("Before anyone shoots", answer.cautions),
    make("p", "quiet", `No figure tells of: ${answer.not_told.join(", ")}.`),
    answer.not_checked.length ? details : "",
  );
}

function fail(fault, signal) {
  if (signal.aborted) return;
  const rest = putFaults(form, fault.errors ?? []);
  showNothing(`Not checked. ${rest || (fault.errors?.length ? "Mend what is marked." : wordsOf(fault))}`);
  byId("verdict").setAttribute("aria-busy", "false");
}

async function judge(signal, body) {
  try {
    const answer = await ask("v1/fit-check", body, "application/json", signal);
    const drawing = await ask("v1/fit-check", body, "image/svg+xml", signal);
    clearFaults(form);
    const { word, advice } = said[answer.verdict];
    const worst = answer.findings.find((one) => one.severity === answer.verdict);
    sayVerdict(answer.verdict, `${word}. ${worst?.message ?? advice}`);
    showDrawing(drawing);
    showReasons(answer);
    byId("verdict").setAttribute("aria-busy", "false");
    return true;
  } catch (fault) {
    fail(fault, signal);
    return false;
  }
}

async function checkTyped(signal) {
  clearFaults(form);
  byId("trial").textContent = "";
  const needed = stillNeeded();
  if (needed) {
    showNothing(`Not checked yet. Still needed: ${needed}.`);
    byId("verdict").setAttribute("aria-busy", "false");
  } else if (await judge(signal, request())) {
    await showShorter(signal);
  }
}

const check = latest((signal, length) => (length ? judge(signal, shortened(length)) : checkTyped(signal)));

// From the shortest to the length that was typed.
async function showShorter(signal) {
  const { value, unit } = request().arrow.length;
  const step = FINEST[unit];
  const asked = Array.from({ length: SHORTER }, (_, at) => ({ value: Number((value - at * step).toFixed(3)), unit }));
  try {
    const items = asked.map((length, at) => (at ? shortened(length) : request())).map((one) => ({ ...one, detail: "verdict" }));
    const { items: answers } = await ask("v1/fit-check/batch", { items }, "application/json", signal);
    const verdicts = answers.map((one) => one.result?.verdict);
    const stop = verdicts.indexOf("stop");
    const most = stop < 0 ? SHORTER : stop + BEYOND;
    const past = verdicts.indexOf(undefined);
    lengths = asked.map((length, at) => ({ length, verdict: verdicts[at] })).slice(0, past < 0 ? most : Math.min(most, past)).reverse();
    showTape();
  } catch (fault) {
    if (signal.aborted) return;
    byId("shorter").hidden = true;
  }
}

function runsOf(judged) {
  const runs = [];
  for (const one of judged) {
    const last = runs.at(-1);
    if (last?.verdict === one.verdict) last.members.push(one);
    else runs.push({ verdict: one.verdict, members: [one] });
  }
  return runs;
}

function showTape() {
  const runs = runsOf(lengths);
  const parts = runs.map(({ verdict, members }) => {
    const part = make("li", verdict, said[verdict].sign(), make("span", "", said[verdict].word));
    part.style.flexGrow = members.length;
    return part;
  });
  const turns = runs.toReversed().map(({ verdict, members }) => {
    const from = figureText(members.at(-1).length);
    const to = figureText(members[0].length);
    return make("li", verdict, said[verdict].sign(), make("span", "", make("strong", "", said[verdict].word), ` from ${from} down to ${to}`));
  });
  byId("tape").replaceChildren(...parts);
  byId("turns").replaceChildren(...turns);
  const slider = byId("slider");
  slider.max = lengths.length - 1;
  slider.value = slider.max;
  slider.disabled = false;
  nameLength();
  byId("shorter").hidden = lengths.length < 2;
}

function nameLength() {
  const slider = byId("slider");
  const { length, verdict } = lengths[slider.value];
  slider.setAttribute("aria-valuetext", `${figureText(length)}, ${said[verdict].word}`);
  const cut = Number(slider.value) < lengths.length - 1;
  byId("trial").textContent = `${cut ? "Cut to" : "As it is,"} ${figureText(length)}: ${said[verdict].word}`;
}

function changed() {
  byId("verdict").setAttribute("aria-busy", "true");
  byId("slider").disabled = true;
  markOwnUnits(form);
  check();
}

byId("slider").addEventListener("input", (event) => {
  // It is no field of the request.
  event.stopPropagation();
  nameLength();
  byId("verdict").setAttribute("aria-busy", "true");
  check(lengths[byId("slider").value].length);
});

whenChanged(form, changed);
form.addEventListener("submit", (event) => event.preventDefault());
for (const kind of ["length", "mass", "force"]) {
  const chosen = byId(`unit-${kind}`);
  chosen.addEventListener("change", () => setUnit(kind, chosen.value));
}

async function print(path, body, root, place) {
  place.textContent = "";
  clearFaults(root);
  try {
    await openPaper(path, body);
  } catch (fault) {
    place.textContent = putFaults(root, fault.errors ?? []) || wordsOf(fault);
  }
}

document.querySelector('[data-paper="fit-check"]').addEventListener("click", () => {
  print("fit-check", request(), form, byId("paper-fault"));
});

byId("order").addEventListener("submit", (event) => {
  event.preventDefault();
  const { archer, bow, arrow, report_in, ruleset } = request();
  const [ordered] = read(byId("order")).sets;
  const set = { id: "This archer", shaft: "as chosen", archer, bow, arrow, ...ordered };
  print("order", { sets: [set], report_in, ruleset }, byId("order"), byId("paper-fault"));
});

startRack(print);

async function start() {
  try {
    await showClub();
  } catch (fault) {
    showNothing(`Not checked. ${wordsOf(fault)}`);
    return false;
  }
  changed();
  return true;
}

setUnit("length", shown.length);
whenTokenGiven(start);
start();
