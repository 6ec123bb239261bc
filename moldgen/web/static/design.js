// The design page: what is typed is kept, what is kept is shown.

import { readFrame, readMesh, readSheet } from "./frames.js";
import { MoldView } from "./mold_view.js";
import { Section } from "./section.js";
import { told, written } from "./words.js";

const start = JSON.parse(document.getElementById("start").dataset.start);
const form = document.getElementById("controls");
const find = (id) => document.getElementById(id);
const TYPED_MS = 140; // how long after the last key something counts as typed
const base = `/designs/${start.id}`;

let state = { values: start.values, number: start.number, can_undo: start.can_undo, can_redo: start.can_redo };
let once = start.once;
let round = 0;
let timer = 0;
let sheetWanted = false;

const view = new MoldView(find("canvas"), find("marks"), (thickness) => {
  find("told").textContent = told("Here the sheet is about {thickness} thick.", { thickness: length(thickness) });
});

const section = find("section") && new Section(view, length);

function isInch() { return find("inch").checked; }

function inUnits() { return isInch() ? "?units=inch" : ""; }

function length(millimeters) {
  if (isInch()) return `${written((millimeters / 25.4).toFixed(3))} in`;
  return `${written(millimeters < 10 ? millimeters.toFixed(2) : millimeters.toFixed(0))} mm`;
}

async function ask(path, body) {
  const options = body === undefined
    ? { headers: { Accept: "application/json" } }
    : { method: "POST", headers: { "Content-Type": "application/json", Accept: "application/json" }, body: JSON.stringify(body) };
  const answer = await fetch(base + path, options);
  const type = answer.headers.get("Content-Type") || "";
  if (answer.ok && type.includes("octet-stream")) return readFrame(await answer.arrayBuffer());
  const words = await answer.json().catch(() => ({ sentence: told("That did not work. Try again.") }));
  if (!answer.ok) throw Object.assign(new Error(words.sentence || "superseded"), words);
  return words;
}

// --- values -------------------------------------------------------------------------------

function typed() {
  const values = {};
  for (const field of form.elements) {
    if (!field.name) continue;
    if (field.dataset.kind === "switch") { if (field.checked) values[field.name] = true; }
    else if (field.value.trim() === "") continue;
    else if (field.dataset.kind === "lines") values[field.name] = field.value.split("\n").filter((line) => line.trim());
    else if (field.dataset.kind === "number") values[field.name] = measure(field);
    else if (field.dataset.usual !== field.value) values[field.name] = field.value;
  }
  return values;
}

// A bare number is in the unit that was chosen; what has a unit keeps it.
function measure(field) {
  const text = field.value.trim();
  const bare = /^[\d.,/\s-]+$/.test(text);
  return bare && isInch() && field.dataset.unit === "mm" ? `${text} in` : text;
}

function show() {
  for (const field of form.elements) {
    if (!field.name) continue;
    const value = state.values[field.name];
    if (field.dataset.kind === "switch") field.checked = value === true;
    else if (field.dataset.kind === "lines") field.value = (Array.isArray(value) ? value : [value ?? ""]).join("\n");
    else field.value = value ?? (field.tagName === "SELECT" ? field.dataset.usual : "");
  }
  find("undo").disabled = !state.can_undo;
  find("redo").disabled = !state.can_redo;
}

async function keep() {
  const mine = ++round;
  say("", "");
  try {
    const done = await ask("/values", { values: typed(), number: state.number });
    state = done;
    find("undo").disabled = !state.can_undo;
    find("redo").disabled = !state.can_redo;
    if (mine === round) look(mine);
  } catch (problem) {
    if (!problem.superseded) say(problem.message, problem.field);
  }
}

function say(sentence, field) {
  for (const input of form.elements) {
    const place = input.name && find(`wrong-${input.name}`);
    if (!place) continue;
    const mine = sentence !== "" && field === input.name;
    place.textContent = mine ? sentence : "";
    input.setAttribute("aria-invalid", mine);
  }
  const known = [...form.elements].some((input) => input.name && input.name === field);
  find("problem").textContent = known ? "" : sentence;
}

// --- what is shown ------------------------------------------------------------------------

async function look(mine) {
  busy(true);
  try {
    const { words, blocks } = await ask(`/picture${inUnits()}`);
    if (mine !== round) return;
    view.showMold(readMesh(blocks[0]));
    find("size").textContent = words.size_mm.map((side) => length(side)).join(" × ");
    find("chosen").textContent = words.chosen.length ? told("Chosen for you: {chosen}.", { chosen: words.chosen.join("; ") }) : "";
    view.dropSheet();
    section?.draw();
    const found = await ask(`/findings${inUnits()}`);
    if (mine !== round) return;
    list(found.words.findings);
    tell(found.words.table);
    if (sheetWanted) await form3d(mine);
    document.body.dataset.shown = state.number; // for whoever waits for it
  } catch (problem) {
    if (!problem.superseded && mine === round) say(problem.message, problem.field);
  } finally {
    if (mine === round) busy(false);
  }
}

function busy(is) { find("busy").hidden = !is; }

const WORDS = { stop: told("Stop"), caution: told("Look at this"), note: told("Good to know") };

function list(findings) {
  const grave = findings.filter((one) => one.severity !== "note");
  find("verdict").textContent = verdict(findings);
  find("verdict").dataset.severity = findings.length ? findings[0].severity : "none";
  if (find("mend")) find("mend").hidden = grave.length === 0;
  find("why").hidden = findings.length === 0;
  const items = find("findings");
  const marks = find("marks");
  items.replaceChildren();
  marks.replaceChildren();
  const places = [];
  findings.forEach((one, index) => {
    const item = document.createElement("li");
    item.dataset.severity = one.severity;
    const title = document.createElement("strong");
    title.textContent = `${index + 1} ${WORDS[one.severity]}. `;
    item.append(title, one.sentence);
    if (one.where_mm) {
      item.append(" ", button(told("Show me"), () => view.turnTo(one.where_mm)));
      const mark = button(String(index + 1), () => point(one));
      mark.setAttribute("aria-label", told("Finding {number}", { number: index + 1 }));
      marks.append(mark);
      places.push({ button: mark, place: one.where_mm });
    }
    const field = one.controls.map((word) => form.elements[word]).find(Boolean);
    if (field) item.append(" ", button(told("Change it"), () => point(one)));
    items.append(item);
  });
  view.showMarks(places);
}

// How its sheet is heated, and what the log of the table made of that.
function tell(rows) {
  find("table").hidden = rows.length === 0;
  find("table").replaceChildren(...rows.flatMap(([label, text]) => [term("dt", label), term("dd", text)]));
}

function term(tag, text) {
  const made = document.createElement(tag);
  made.textContent = text;
  return made;
}

function verdict(findings) {
  if (findings.some((one) => one.severity === "stop")) return told("This will not form as it is.");
  if (findings.some((one) => one.severity === "caution")) return told("This can be printed, but look at the list first.");
  return told("Ready to print.");
}

function button(words, act) {
  const made = document.createElement("button");
  made.type = "button";
  made.textContent = words;
  made.addEventListener("click", act);
  return made;
}

function point(finding) {
  const field = finding.controls.map((word) => form.elements[word]).find(Boolean);
  if (!field) return;
  const more = field.closest("details");
  if (more) more.open = true;
  field.focus();
  field.scrollIntoView({ block: "center" });
}

// --- the sheet ----------------------------------------------------------------------------

async function form3d(mine) {
  busy(true);
  try {
    const sheet = readSheet(await ask("/sheet"));
    if (mine !== round) return;
    view.showSheet(sheet);
    legend(sheet);
    move();
  } catch (problem) {
    if (!problem.superseded) say(problem.message, problem.field);
  } finally {
    if (mine === round) busy(false);
  }
}

function move() {
  const share = Number(find("sheet").value) / 100;
  view.moveSheet(share, share === 1);
  find("legend").hidden = share !== 1;
  section.draw();
}

function legend({ scale }) {
  const box = find("legend");
  box.replaceChildren();
  scale.colors.forEach(([r, g, b], k) => {
    const swatch = document.createElement("span");
    swatch.style.background = `rgb(${r}, ${g}, ${b})`;
    swatch.title = told("{least} to {most}", { least: length(scale.edges[k]), most: length(scale.edges[k + 1]) });
    box.append(swatch);
  });
  box.prepend(words(told("Thickness: {thickness}", { thickness: length(0) })));
  box.append(words(length(scale.edges.at(-1))));
}

function words(text) {
  const made = document.createElement("span");
  made.className = "words";
  made.textContent = text;
  return made;
}

async function wantSheet() {
  if (!view.formed) { sheetWanted = true; await form3d(round); } else move();
}

// --- buttons ------------------------------------------------------------------------------

async function step(path) {
  const mine = ++round;
  state = await ask(path, {});
  show();
  say("", "");
  find("told").textContent = "";
  look(mine);
}

async function mend() {
  const mine = ++round;
  busy(true);
  find("mend").disabled = true;
  try {
    const done = await ask(`/mend${inUnits()}`, {});
    state = done;
    show();
    find("told").textContent = done.changes.length
      ? told("Changed: {changes}. Undo takes it back.", { changes: done.changes.join("; ") })
      : told("No small change would help. Change the size, the sheet or the words.");
    look(mine);
  } catch (problem) {
    say(problem.message, problem.field);
  } finally {
    find("mend").disabled = false;
    if (mine === round) busy(false);
  }
}

async function handIn() {
  const button = find("hand-in");
  button.disabled = true;
  try {
    const done = await ask("/hand-in", { once });
    once = done.once;
    find("told").textContent = told("Handed in. You see under “Mine” what becomes of it.");
  } catch (problem) {
    find("told").textContent = problem.message;
  } finally {
    button.disabled = false;
  }
}

form.addEventListener("input", (event) => {
  clearTimeout(timer);
  const typing = ["text", "textarea"].includes(event.target.type);
  timer = setTimeout(keep, typing ? TYPED_MS : 0);
});
form.addEventListener("submit", (event) => event.preventDefault());
find("undo").addEventListener("click", () => step("/undo"));
find("redo").addEventListener("click", () => step("/redo"));
find("mend")?.addEventListener("click", mend);
find("hand-in")?.addEventListener("click", handIn);
find("sheet")?.addEventListener("input", wantSheet);
find("cut")?.addEventListener("change", async () => {
  section.open(find("cut").checked);
  if (!find("cut").checked || view.formed) return;
  find("sheet").value = 100;
  await wantSheet();
});
find("inch").checked = localStorage.getItem("unit") === "in";
find("inch").addEventListener("change", () => { localStorage.setItem("unit", isInch() ? "in" : "mm"); units(); look(++round); });
document.addEventListener("keydown", (event) => {
  const inText = ["INPUT", "TEXTAREA"].includes(document.activeElement.tagName);
  if (!(event.ctrlKey || event.metaKey) || inText) return;
  if (event.key === "z" && !find("undo").disabled) step("/undo");
  if (event.key === "y" && !find("redo").disabled) step("/redo");
});

function units() {
  for (const place of document.querySelectorAll("[data-unit-of]")) place.textContent = isInch() ? "in" : "mm";
}

units();
show();
look(++round);
