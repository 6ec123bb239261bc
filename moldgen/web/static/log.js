// The form at the table: stop-watches, and what does not go together is not chosen together.

import { told } from "/static/words.js";

const TICK_MS = 200;
const running = new Map();

function seconds(since) {
  return Math.max(0.1, (performance.now() - since) / 1000);
}

function show(button, field) {
  const since = running.get(button);
  if (since === undefined) { return; }
  field.value = String(Math.round(seconds(since)));
  setTimeout(() => show(button, field), TICK_MS);
}

for (const button of document.querySelectorAll("[data-watch]")) {
  const field = document.getElementById(button.dataset.watch);
  button.hidden = false;
  button.addEventListener("click", () => {
    if (running.has(button)) {
      field.value = seconds(running.get(button)).toFixed(1);
      running.delete(button);
      button.textContent = told("Start again");
      delete button.dataset.runs;
    } else {
      running.set(button, performance.now());
      button.textContent = told("Stop");
      button.dataset.runs = "yes";
      show(button, field);
    }
  });
  field.addEventListener("input", () => { running.delete(button); button.textContent = told("Start again"); delete button.dataset.runs; });
}

const seen = [...document.querySelectorAll("[name=seen]")];
for (const box of seen) {
  box.addEventListener("change", () => {
    if (!box.checked) { return; }
    for (const other of seen) {
      if (other !== box && (box.value === "good" || other.value === "good")) { other.checked = false; }
    }
  });
}

// Places are measured one after the other: each gets a row of its own.
const readings = document.getElementById("readings");
const another = document.getElementById("another");
const rows = () => readings.querySelectorAll(".pair");
function offer() { another.hidden = rows().length >= Number(readings.dataset.most); }
another.addEventListener("click", () => {
  const row = rows()[0].cloneNode(true);
  for (const field of row.querySelectorAll("input")) { field.value = ""; }
  another.before(row);
  row.querySelector("input").focus();
  offer();
});
offer();

// Once is enough: a second tap would send the same note again.
document.getElementById("note").addEventListener("submit", (event) => {
  for (const button of running.keys()) { button.click(); }
  event.submitter?.setAttribute("disabled", "");
});
