// The mold and the sheet over it, to be turned by mouse, finger or keyboard.  It draws when
// something changed, and never else: a class of old laptops has no light to spare.

import {
  AmbientLight, BufferAttribute, BufferGeometry, Color, DirectionalLight, DoubleSide, LineBasicMaterial,
  LineSegments, Mesh, MeshLambertMaterial, OrbitControls, PerspectiveCamera, Raycaster, Scene,
  Vector2, Vector3, WebGLRenderer,
} from "./vendor/three.js";

const MOLD = 0x96b6c7;
const SHEET = 0xe6d9bd;
const TABLE = 0xd8ccb2;
const CUT = 0xa30d26;
const BACKGROUND = 0xf6f1e5;
const STEP = 0.12; // of a turn of the view by one key, in radians
const VIEW_DEG = 32;

export class MoldView {
  constructor(canvas, marks, onTap) {
    this.canvas = canvas;
    this.marks = marks;
    this.onTap = onTap;
    this.renderer = new WebGLRenderer({ canvas, antialias: true });
    this.scene = new Scene();
    this.scene.background = new Color(BACKGROUND);
    this.camera = new PerspectiveCamera(VIEW_DEG, 1, 1, 5000);
    this.camera.up.set(0, 0, 1);
    this.turning = new OrbitControls(this.camera, canvas);
    this.turning.enableDamping = false;
    this.turning.maxPolarAngle = Math.PI / 2;
    this.turning.addEventListener("change", () => this.draw());
    this.lights();
    this.mold = this.body(MOLD);
    Object.assign(this.mold.material, { polygonOffset: true, polygonOffsetFactor: 3, polygonOffsetUnits: 3 });
    this.sheet = this.body(SHEET);
    this.sheet.visible = false;
    this.places = [];
    this.waiting = false;
    this.isPlaced = false;
    this.isFormed = false;
    this.onDraw = () => {};
    new ResizeObserver(() => this.resize()).observe(canvas.parentElement);
    canvas.addEventListener("keydown", (event) => this.key(event));
    canvas.addEventListener("pointerdown", (event) => { this.pressed = [event.clientX, event.clientY]; });
    canvas.addEventListener("pointerup", (event) => this.tap(event));
    this.resize();
  }

  lights() {
    this.scene.add(new AmbientLight(0xffffff, 1.1));
    const lamp = new DirectionalLight(0xffffff, 2.0);
    lamp.position.set(-0.5, -0.62, 0.9);
    const back = new DirectionalLight(0xffffff, 0.5);
    back.position.set(0.7, 0.6, 0.3);
    this.scene.add(lamp, back);
  }

  body(color) {
    const material = new MeshLambertMaterial({ color, side: DoubleSide, flatShading: true });
    const mesh = new Mesh(new BufferGeometry(), material);
    this.scene.add(mesh);
    return mesh;
  }

  // Show a mold; the first one also tells where to look from.
  showMold({ positions, triangles }) {
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", new BufferAttribute(positions, 3));
    geometry.setIndex(new BufferAttribute(triangles, 1));
    geometry.computeBoundingBox();
    this.mold.geometry.dispose();
    this.mold.geometry = geometry;
    this.table(geometry.boundingBox);
    const size = geometry.boundingBox.getSize(new Vector3()).length();
    if (!this.isPlaced || size > 1.5 * this.sized || size < this.sized / 1.5) this.lookAt(geometry.boundingBox);
    this.draw();
  }

  table(box) {
    if (this.grid) { this.scene.remove(this.grid); this.grid.geometry.dispose(); }
    const reach = 10 * Math.ceil((Math.max(-box.min.x, box.max.x, -box.min.y, box.max.y) + 25) / 10);
    const lines = [];
    for (let at = -reach; at <= reach; at += 10) lines.push(-reach, at, 0, reach, at, 0, at, -reach, 0, at, reach, 0);
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", new BufferAttribute(new Float32Array(lines), 3));
    this.grid = new LineSegments(geometry, new LineBasicMaterial({ color: TABLE }));
    this.scene.add(this.grid);
  }

  lookAt(box) {
    const middle = box.getCenter(new Vector3());
    const size = box.getSize(new Vector3());
    this.sized = size.length();
    const far = (0.62 * this.sized) / Math.tan((VIEW_DEG * Math.PI) / 360) / Math.min(1, this.camera.aspect);
    this.turning.target.copy(middle);
    this.camera.position.set(middle.x - 0.42 * far, middle.y - 0.66 * far, middle.z + 0.62 * far);
    this.turning.update();
    this.isPlaced = true;
  }

  showSheet(sheet) {
    this.formed = sheet;
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", new BufferAttribute(new Float32Array(3 * 3 * (sheet.triangles.length / 3)), 3));
    geometry.setAttribute("color", new BufferAttribute(new Float32Array(3 * sheet.triangles.length), 3));
    this.sheet.geometry.dispose();
    this.sheet.geometry = geometry;
    this.canvas.dataset.sheet = "there";
    this.paintSheet();
  }

  dropSheet() {
    this.formed = null;
    delete this.canvas.dataset.sheet;
    this.sheet.visible = false;
    this.mold.visible = true;
    this.draw();
  }

  // How far the sheet has come: 0 flat, 1 formed; coloured by thickness at the end, if asked.
  moveSheet(share, coloured) {
    if (!this.formed) return;
    const { states, triangles } = this.formed;
    const at = share * (states.length - 1);
    const k = Math.min(Math.floor(at), states.length - 2);
    const rest = at - k;
    const position = this.sheet.geometry.getAttribute("position");
    for (let i = 0; i < triangles.length; i += 1) {
      for (let axis = 0; axis < 3; axis += 1) {
        const from = states[k][3 * triangles[i] + axis];
        position.array[3 * i + axis] = from + rest * (states[k + 1][3 * triangles[i] + axis] - from);
      }
    }
    position.needsUpdate = true;
    this.sheet.geometry.computeBoundingSphere();
    this.sheet.material.vertexColors = coloured;
    this.sheet.material.color.set(coloured ? 0xffffff : SHEET);
    this.sheet.material.transparent = !coloured;
    this.sheet.material.opacity = coloured ? 1 : 0.82;
    this.sheet.material.needsUpdate = true;
    this.sheet.visible = true;
    this.isFormed = coloured;
    this.mold.visible = !coloured; // it would shine through where triangles of the sheet cut its edges
    this.draw();
  }

  paintSheet() {
    const { triangles, part, scale } = this.formed;
    const color = this.sheet.geometry.getAttribute("color");
    const classes = scale.colors.map(([r, g, b]) => new Color().setRGB(r / 255, g / 255, b / 255, "srgb"));
    const waste = new Color(0xcfd3d3);
    for (let i = 0; i < triangles.length / 3; i += 1) {
      const value = this.thicknessOf(i);
      let k = scale.edges.findIndex((edge) => edge > value) - 1;
      if (k < 0) k = k === -2 ? classes.length - 1 : 0;
      const paint = part[i] ? classes[Math.min(k, classes.length - 1)] : waste;
      for (let corner = 0; corner < 3; corner += 1) color.setXYZ(3 * i + corner, paint.r, paint.g, paint.b);
    }
    color.needsUpdate = true;
  }

  // How thick the sheet is in a triangle, in mm.
  thicknessOf(triangle) { return (this.formed.thickness[triangle] / 250) * this.formed.gauge; }

  // The line along which the mold is cut: round it at a place of an axis; none if null.
  showCut(cut) {
    if (this.cut) { this.scene.remove(this.cut); this.cut.geometry.dispose(); this.cut = null; }
    if (cut) {
      const { axis, at, low, high } = cut;
      const end = (along, z) => (axis === 1 ? [along, at, z] : [at, along, z]);
      const [from, to] = [low[1 - axis] - 12, high[1 - axis] + 12];
      const [floor, top] = [low[2], high[2] + 0.3];
      const round = [end(from, floor), end(from, top), end(to, top), end(to, floor)];
      const lines = round.flatMap((one, k) => [...one, ...round[(k + 1) % 4]]);
      const geometry = new BufferGeometry();
      geometry.setAttribute("position", new BufferAttribute(new Float32Array(lines), 3));
      this.cut = new LineSegments(geometry, new LineBasicMaterial({ color: CUT, depthTest: false }));
      this.cut.renderOrder = 2;
      this.scene.add(this.cut);
    }
    this.draw();
  }

  // Where a place in mm is on the screen, and back, at a height.
  screenAt(place) {
    const { clientWidth, clientHeight } = this.canvas.parentElement;
    const at = new Vector3(...place).project(this.camera);
    return [((at.x + 1) / 2) * clientWidth, ((1 - at.y) / 2) * clientHeight];
  }

  placeAt(clientX, clientY, height) {
    const box = this.canvas.getBoundingClientRect();
    const at = new Vector3(((clientX - box.left) / box.width) * 2 - 1, 1 - ((clientY - box.top) / box.height) * 2, 0.5);
    const from = this.camera.position;
    const ray = at.unproject(this.camera).sub(from);
    return from.clone().add(ray.multiplyScalar((height - from.z) / ray.z)).toArray();
  }

  // Numbered marks in the view: places in mm, and the buttons that stand there.
  showMarks(places) {
    this.places = places;
    this.draw();
  }

  turnTo([x, y, z]) {
    const far = this.camera.position.distanceTo(this.turning.target);
    const to = new Vector3(x, y, z);
    const from = this.camera.position.clone().sub(this.turning.target).normalize();
    this.turning.target.copy(to);
    this.camera.position.copy(to.add(from.multiplyScalar(Math.max(0.5 * this.sized, 0.6 * far))));
    this.turning.update();
    this.draw();
  }

  key(event) {
    const turns = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    const zoom = { "+": 0.85, "=": 0.85, "-": 1 / 0.85 }[event.key];
    if (event.key === "Home") this.lookAt(this.mold.geometry.boundingBox);
    else if (zoom) this.camera.position.sub(this.turning.target).multiplyScalar(zoom).add(this.turning.target);
    else if (turns) this.turn(...turns);
    else return;
    event.preventDefault();
    this.turning.update();
    this.draw();
  }

  turn(across, down) {
    const arm = this.camera.position.clone().sub(this.turning.target);
    arm.applyAxisAngle(new Vector3(0, 0, 1), across * STEP);
    const side = new Vector3(-arm.y, arm.x, 0).normalize();
    const tilted = arm.clone().applyAxisAngle(side, down * STEP);
    if (tilted.z > 0 && tilted.z < 0.995 * tilted.length()) arm.copy(tilted);
    this.camera.position.copy(arm.add(this.turning.target));
  }

  // A tap on the coloured sheet tells how thick it is there.
  tap(event) {
    if (!this.pressed || Math.hypot(event.clientX - this.pressed[0], event.clientY - this.pressed[1]) > 6) return;
    if (!this.sheet.visible || !this.formed) return;
    const box = this.canvas.getBoundingClientRect();
    const at = new Vector2(
      ((event.clientX - box.left) / box.width) * 2 - 1,
      1 - ((event.clientY - box.top) / box.height) * 2,
    );
    const ray = new Raycaster();
    ray.setFromCamera(at, this.camera);
    const [hit] = ray.intersectObject(this.sheet);
    if (hit) this.onTap(this.thicknessOf(hit.faceIndex));
  }

  resize() {
    const { clientWidth, clientHeight } = this.canvas.parentElement;
    if (!clientWidth || !clientHeight) return;
    this.renderer.setPixelRatio(Math.min(window.devicePixelRatio, 2));
    this.renderer.setSize(clientWidth, clientHeight, false);
    this.camera.aspect = clientWidth / clientHeight;
    this.camera.updateProjectionMatrix();
    this.draw();
  }

  draw() {
    if (this.waiting) return;
    this.waiting = true;
    requestAnimationFrame(() => {
      this.waiting = false;
      this.renderer.render(this.scene, this.camera);
      this.placeMarks();
      this.onDraw();
    });
  }

  placeMarks() {
    for (const { button, place } of this.places) {
      const [left, top] = this.screenAt(place);
      button.style.left = `${left}px`;
      button.style.top = `${top}px`;
    }
  }
}
