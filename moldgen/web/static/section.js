// The mold and the sheet cut open along a line that can be dragged: the very triangles that are
// shown, cut by a plane, so that the sheet is where the forming run has it.

import { told } from "./words.js";

const SVG = "http://www.w3.org/2000/svg";
const MARGIN_MM = 6;

// Where a plane cuts triangles: a segment each, as [place along, height, place along, height].
function crossings(corner, count, axis, at) {
  const along = 1 - axis;
  const found = [];
  for (let k = 0; k < count; k += 1) {
    const ends = [];
    for (let edge = 0; edge < 3; edge += 1) {
      const a = corner(k, edge);
      const b = corner(k, (edge + 1) % 3);
      if ((a[axis] < at) === (b[axis] < at)) continue;
      const [low, high] = a[axis] < at ? [a, b] : [b, a]; // from one side, so that neighbours meet
      const share = (at - low[axis]) / (high[axis] - low[axis]);
      ends.push(low[along] + share * (high[along] - low[along]), low[2] + share * (high[2] - low[2]));
    }
    if (ends.length === 4) found.push({ ends, triangle: k });
  }
  return found;
}

// Closed outlines of the segments, as one path: what lies within an odd number of them is cut face.
function outlines(segments) {
  const key = (x, z) => `${x.toFixed(4)} ${z.toFixed(4)}`;
  const next = new Map();
  segments.forEach(({ ends: [x, z, u, w] }) => {
    for (const [from, to] of [[key(x, z), [u, w]], [key(u, w), [x, z]]]) {
      if (!next.has(from)) next.set(from, []);
      next.get(from).push(to);
    }
  });
  let path = "";
  for (const start of next.keys()) {
    let here = start;
    let pen = "M";
    while (next.get(here)?.length) {
      const to = next.get(here).pop();
      const there = key(...to);
      const back = next.get(there);
      const own = back.findIndex((one) => key(...one) === here);
      if (own >= 0) back.splice(own, 1);
      path += `${pen}${here.replace(" ", " -").replace("--", "")}`;
      pen = "L";
      here = there;
    }
    if (pen === "L") path += "Z";
  }
  return path;
}

export class Section {
  // view: a MoldView; length: tells millimeters as they are read.
  constructor(view, length) {
    this.view = view;
    this.length = length;
    this.panel = document.getElementById("section");
    this.range = document.getElementById("cut-at");
    this.handle = document.getElementById("cut-handle");
    this.picture = this.panel.querySelector("svg");
    this.words = document.getElementById("section-words");
    this.range.addEventListener("input", () => this.draw());
    this.handle.addEventListener("pointerdown", (event) => this.drag(event));
    view.onDraw = () => this.placeHandle();
  }

  get isOpen() { return !this.panel.hidden; }

  open(is) {
    this.panel.hidden = !is;
    this.handle.hidden = !is;
    this.draw();
  }

  // Cut across the shorter side: the section shows the longer one.
  measure() {
    const box = this.view.mold.geometry.boundingBox;
    const low = box.min.toArray();
    const high = box.max.toArray();
    this.axis = high[0] - low[0] >= high[1] - low[1] ? 1 : 0;
    this.box = { low, high };
    const [least, most] = [low[this.axis], high[this.axis]];
    this.range.min = least.toFixed(1);
    this.range.max = most.toFixed(1);
    if (this.at === undefined) this.range.value = ((least + most) / 2).toFixed(1);
  }

  draw() {
    if (!this.isOpen || !this.view.mold.geometry.boundingBox) { this.view.showCut(null); return; }
    this.measure();
    this.at = Number(this.range.value) + 0.013; // beside corners that lie on whole numbers
    this.range.setAttribute("aria-valuetext", this.length(Number(this.range.value)));
    this.view.showCut({ axis: this.axis, at: this.at, ...this.box });
    const { position, index } = this.view.mold.geometry.attributes.position
      ? { position: this.view.mold.geometry.attributes.position.array, index: this.view.mold.geometry.index.array }
      : { position: [], index: [] };
    const corner = (k, edge) => position.subarray(3 * index[3 * k + edge], 3 * index[3 * k + edge] + 3);
    const mold = crossings(corner, index.length / 3, this.axis, this.at);
    this.paint(mold, this.cutSheet());
  }

  cutSheet() {
    if (!this.view.formed || !this.view.sheet.visible) return [];
    const positions = this.view.sheet.geometry.attributes.position.array;
    const corner = (k, edge) => positions.subarray(9 * k + 3 * edge, 9 * k + 3 * edge + 3);
    return crossings(corner, positions.length / 9, this.axis, this.at);
  }

  paint(mold, sheet) {
    const along = 1 - this.axis;
    const [low, high] = [this.box.low[along] - MARGIN_MM, this.box.high[along] + MARGIN_MM];
    const top = Math.max(this.box.high[2], ...sheet.map(({ ends }) => Math.max(ends[1], ends[3])));
    this.picture.setAttribute("viewBox", `${low} ${-top - 2} ${high - low} ${top + 4}`);
    const face = document.createElementNS(SVG, "path");
    face.setAttribute("class", "face");
    face.setAttribute("d", outlines(mold));
    const lines = sheet
      .filter(({ ends }) => ends[0] > low && ends[0] < high)
      .map(({ ends, triangle }) => this.sheetLine(ends, triangle));
    this.picture.replaceChildren(face, ...lines);
    this.tell(sheet);
  }

  // A piece of the sheet, as thick as it is there.
  sheetLine([x, z, u, w], triangle) {
    const line = document.createElementNS(SVG, "line");
    const places = { x1: x, y1: -z, x2: u, y2: -w, "stroke-width": this.view.thicknessOf(triangle) };
    Object.entries(places).forEach(([name, value]) => line.setAttribute(name, value.toFixed(3)));
    return line;
  }

  tell(sheet) {
    const { formed, isFormed } = this.view;
    const part = sheet.filter(({ triangle }) => formed.part[triangle]).map(({ triangle }) => this.view.thicknessOf(triangle));
    this.words.textContent = isFormed && part.length
      ? told("Along this line the sheet is {least} to {most} thick.", { least: this.length(Math.min(...part)), most: this.length(Math.max(...part)) })
      : "";
  }

  placeHandle() {
    if (!this.isOpen || !this.box) return;
    const at = [0, 0, this.box.high[2]];
    at[this.axis] = this.at;
    at[1 - this.axis] = this.box.high[1 - this.axis] + 2 * MARGIN_MM;
    const [left, top] = this.view.screenAt(at);
    this.handle.style.left = `${left}px`;
    this.handle.style.top = `${top}px`;
  }

  drag(event) {
    event.preventDefault();
    this.handle.setPointerCapture(event.pointerId);
    const move = (moved) => {
      const place = this.view.placeAt(moved.clientX, moved.clientY, this.box.high[2]);
      this.range.value = place[this.axis].toFixed(1);
      this.draw();
    };
    this.handle.addEventListener("pointermove", move);
    this.handle.addEventListener("pointerup", () => this.handle.removeEventListener("pointermove", move), { once: true });
  }
}
