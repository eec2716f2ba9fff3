// The view: surfaces in space, drawn only when something has changed.
import * as THREE from "three";
import { OrbitControls } from "three/addons/controls/OrbitControls.js";
import { Line2 } from "three/addons/lines/Line2.js";
import { LineGeometry } from "three/addons/lines/LineGeometry.js";
import { LineMaterial } from "three/addons/lines/LineMaterial.js";
import type { Point, Role, Slice } from "./api";
import type { Mesh, ValueMap } from "./binary";
import { el } from "./dom";
import { type Frame, fromScene, toScene, towards } from "./frame";
import { look } from "./look";
import type { Range } from "./scale";
import { type Hit, Solid } from "./solid";

export interface Pointed {
  hit: Hit;
  role: Role;
  file: Point; // the place in the coordinates of the files
}

const steep = 0.94; // height of the eye, as a sine (70 degrees), from which on nothing is cut away
const margin = 0.7; // mm of the surface beside the finish line that is never cut away

const still = () => matchMedia("(prefers-reduced-motion: reduce)").matches;

export class View {
  readonly root = el("div", { class: "view-canvas" });
  readonly canvas = el("canvas", { tabindex: "0" });
  readonly overlay = el("div", { class: "overlay", "aria-hidden": "true" });
  private renderer: THREE.WebGLRenderer;
  private scene = new THREE.Scene();
  private camera = new THREE.OrthographicCamera(-10, 10, 10, -10, -200, 400);
  private controls: OrbitControls;
  private solids = new Map<Role, Solid>();
  private lines = new Map<string, Line2>();
  private wanted = false;
  private fly = 0;
  private size = new THREE.Vector2(1, 1);
  private around = 1e6; // mm from the axis: what is farther and before the tooth is cut away
  private half = 7.5; // mm from the middle to the nearer edge at zoom 1
  private frame: Frame;
  /** after is called once a picture has been drawn. */
  after: () => void = () => {};
  frameTimes: number[] = [];

  constructor(frame: Frame) {
    this.frame = frame;
    this.renderer = new THREE.WebGLRenderer({ canvas: this.canvas, antialias: true, alpha: true, preserveDrawingBuffer: false });
    this.renderer.outputColorSpace = THREE.LinearSRGBColorSpace; // the shading gives sRGB itself
    this.camera.up.set(0, 0, 1);
    this.camera.position.set(30, 40, 60);
    this.controls = new OrbitControls(this.camera, this.canvas);
    this.controls.enableDamping = false;
    this.controls.minZoom = 0.35;
    this.controls.maxZoom = 12;
    this.controls.target.set(0, 0, 2);
    this.controls.addEventListener("change", () => this.draw());
    this.controls.addEventListener("start", () => cancelAnimationFrame(this.fly));
    this.root.append(this.canvas, this.overlay);
    new ResizeObserver(() => this.resize()).observe(this.root);
    this.canvas.addEventListener("webglcontextlost", (e) => e.preventDefault());
  }

  private resize(): void {
    const { clientWidth: w, clientHeight: h } = this.root;
    if (w === 0 || h === 0) return;
    const ratio = Math.min(devicePixelRatio, 2);
    this.renderer.setPixelRatio(ratio);
    this.renderer.setSize(w, h, false);
    this.size.set(w, h);
    const k = this.half / Math.min(w, h);
    this.camera.left = -w * k;
    this.camera.right = w * k;
    this.camera.top = h * k;
    this.camera.bottom = -h * k;
    this.camera.updateProjectionMatrix();
    for (const s of this.solids.values()) s.mesh.material.uniforms.density.value = ratio;
    this.paint(); // at once: a new size wipes the picture
  }

  /** draw asks for a picture at the next frame of the screen. */
  draw(): void {
    if (this.wanted) return;
    this.wanted = true;
    requestAnimationFrame(() => {
      this.wanted = false;
      this.paint();
    });
  }

  private paint(): void {
    const begun = performance.now();
    this.aim();
    this.renderer.render(this.scene, this.camera);
    this.frameTimes.push(performance.now() - begun);
    if (this.frameTimes.length > 120) this.frameTimes.shift();
    this.after();
  }

  /** aim tells the shading where the eye is, for what is cut away before the tooth. */
  private aim(): void {
    const eye = this.camera.position.clone().sub(this.controls.target).normalize();
    for (const s of this.solids.values()) {
      s.mesh.material.uniforms.around.value = Math.abs(eye.z) > steep ? 1e6 : this.around;
      s.mesh.material.uniforms.eye.value.copy(eye);
    }
  }

  /** colours takes the page's colours. */
  colours(): void {
    const c = look();
    const v = (s: string) => new THREE.Vector3(...hex(s));
    for (const s of this.solids.values()) {
      const u = s.mesh.material.uniforms;
      u.tooth.value = v(c.tooth);
      u.ink.value = v("#1d1620");
      u.rim.value = v("#fdf9f1");
    }
    for (const [name, l] of this.lines) (l.material as LineMaterial).color.set(new THREE.Color(...hex(name.endsWith("halo") ? c.paper : name === "finish" ? c.ink : c.accent)));
    this.draw();
  }

  /** add shows a surface. */
  add(role: Role, m: Mesh): void {
    const s = new Solid(m, this.frame);
    s.mesh.material.uniforms.density.value = Math.min(devicePixelRatio, 2);
    this.solids.get(role)?.dispose();
    if (this.solids.has(role)) this.scene.remove(this.solids.get(role)!.mesh);
    this.solids.set(role, s);
    this.scene.add(s.mesh);
    this.colours();
  }

  has(role: Role): boolean {
    return this.solids.has(role);
  }

  /** show decides which surfaces are seen. */
  show(seen: ReadonlySet<Role>): void {
    for (const [role, s] of this.solids) s.mesh.visible = seen.has(role);
    this.draw();
  }

  /** map colours one surface by a reading and the others not. */
  map(role: Role | null, m: ValueMap | null, range: Range | null, limit: { min?: number; max?: number } | null): void {
    for (const [r, s] of this.solids) {
      if (r === role && m && range) s.showMap(m, range, limit);
      else s.clearMap();
    }
    this.draw();
  }

  /** contour is where the map crosses a value. */
  contour(role: Role, at: number): THREE.Vector3[] {
    return this.solids.get(role)?.contour(at) ?? [];
  }

  /** line draws a line of points of the scene over the surfaces; none takes it away. */
  line(name: "finish" | "section", runs: Point[][], width: number): void {
    for (const key of [...this.lines.keys()].filter((k) => k.startsWith(name))) {
      this.scene.remove(this.lines.get(key)!);
      this.lines.get(key)!.geometry.dispose();
      this.lines.delete(key);
    }
    runs.forEach((run, i) => {
      if (run.length < 2) return;
      const g = new LineGeometry();
      g.setPositions(run.flat());
      for (const [key, w, order] of [[`${name}${i} halo`, width + 3, 1], [i === 0 ? name : `${name}${i}`, width, 2]] as const) {
        const l = new Line2(g, new LineMaterial({ linewidth: w, depthTest: true, transparent: true, polygonOffset: true, polygonOffsetFactor: -4, polygonOffsetUnits: -40 * order }));
        l.renderOrder = order;
        this.lines.set(key, l);
        this.scene.add(l);
      }
    });
    this.colours();
  }

  /** finish draws the finish line, points of the files. */
  finish(points: readonly number[][]): void {
    const run = points.map((p) => toScene(this.frame, p));
    this.around = Math.max(0, ...run.map((q) => Math.hypot(q[0], q[1]))) + margin;
    if (run.length > 0) run.push(run[0]);
    this.line("finish", [run], 3);
  }

  /** section draws where a slice cuts the surfaces that are seen. */
  section(s: Slice, seen: ReadonlySet<string>): void {
    const place = ([x, y]: readonly number[]): Point => toScene(this.frame, [0, 1, 2].map((i) => s.origin[i] + x * s.right[i] + y * s.up[i]));
    this.line("section", s.lines.filter((l) => seen.has(l.role)).map((l) => (l.points ?? []).filter((p) => Math.abs(p![0]) < 9).map((p) => place(p!))), 1.6);
  }

  /** turn moves the eye to look at a place from a side; up is the rise of the eye in degrees. */
  turn(azimuth: number | null, up: number, target: Point, zoom: number, from: 1 | -1 = 1): void {
    const side = azimuth === null ? new THREE.Vector3(0, -1, 0) : new THREE.Vector3(...towards(this.frame, azimuth));
    const rise = (up * Math.PI) / 180;
    const to = side.multiplyScalar(Math.cos(rise)).add(new THREE.Vector3(0, 0, from * Math.sin(rise)));
    this.flyTo(to, new THREE.Vector3(...target), zoom);
  }

  private flyTo(to: THREE.Vector3, target: THREE.Vector3, zoom: number): void {
    cancelAnimationFrame(this.fly);
    const was = this.camera.position.clone().sub(this.controls.target).normalize();
    const turn = new THREE.Quaternion().setFromUnitVectors(was, to.clone().normalize());
    const none = new THREE.Quaternion();
    const [z0, t0] = [this.camera.zoom, this.controls.target.clone()];
    const begun = performance.now();
    const step = () => {
      const u = still() ? 1 : Math.min(1, (performance.now() - begun) / 450);
      const e = u * u * (3 - 2 * u);
      const dir = was.clone().applyQuaternion(none.clone().slerp(turn, e));
      this.controls.target.lerpVectors(t0, target, e);
      this.camera.position.copy(this.controls.target).addScaledVector(dir, 80);
      this.camera.zoom = z0 * (zoom / z0) ** e;
      this.camera.updateProjectionMatrix();
      this.controls.update();
      this.draw();
      if (u < 1) this.fly = requestAnimationFrame(step);
    };
    step();
  }

  /** nudge comes closer or goes back. */
  nudge(factor: number): void {
    this.camera.zoom = Math.min(this.controls.maxZoom, Math.max(this.controls.minZoom, this.camera.zoom * factor));
    this.camera.updateProjectionMatrix();
    this.draw();
  }

  private ray(x: number, y: number): THREE.Ray {
    const c = new THREE.Raycaster();
    c.setFromCamera(new THREE.Vector2((2 * x) / this.size.x - 1, 1 - (2 * y) / this.size.y), this.camera);
    return this.entered(c.ray);
  }

  /** entered moves a ray's origin to where it comes to what is not cut away. */
  private entered(ray: THREE.Ray): THREE.Ray {
    const { origin: o, direction: d } = ray;
    const flat = d.x * d.x + d.y * d.y;
    if (Math.abs(d.z) > steep) return ray;
    const middle = -(o.x * d.x + o.y * d.y) / flat; // where the half before the tooth ends
    const beside = (o.x + middle * d.x) ** 2 + (o.y + middle * d.y) ** 2;
    const into = beside < this.around ** 2 ? Math.sqrt((this.around ** 2 - beside) / flat) : 0;
    o.addScaledVector(d, middle - into);
    return ray;
  }

  /** pick returns the nearest place that is seen at a pixel. */
  pick(x: number, y: number, only?: Role): Pointed | null {
    const ray = this.ray(x, y);
    let best: Pointed | null = null;
    for (const [role, s] of this.solids) {
      if (!s.mesh.visible || (only && role !== only)) continue;
      const hit = s.pick(ray);
      if (hit && (!best || hit.distance < best.hit.distance)) best = { hit, role, file: fromScene(this.frame, hit.point.toArray()) };
    }
    return best;
  }

  /** onto brings a point of the files onto the prepared surface. */
  onto(role: Role, p: readonly number[]): Point {
    const s = this.solids.get(role);
    const q = new THREE.Vector3(...toScene(this.frame, p));
    return fromScene(this.frame, (s ? s.nearest(q) : q).toArray());
  }

  /** step moves a point of the files by pixels as it is seen, and lays it on the surface nearest to there. */
  step(role: Role, p: readonly number[], dx: number, dy: number): Point {
    const q = new THREE.Vector3(...toScene(this.frame, p)).project(this.camera);
    q.x += (2 * dx) / this.size.x;
    q.y -= (2 * dy) / this.size.y;
    return this.onto(role, fromScene(this.frame, q.unproject(this.camera).toArray()));
  }

  /** pixel is where a point of the scene is drawn; hidden when a surface lies before it. */
  pixel(q: readonly number[] | THREE.Vector3, look = false): { x: number; y: number; hidden: boolean } {
    const p = q instanceof THREE.Vector3 ? q.clone() : new THREE.Vector3(...(q as Point));
    const s = p.clone().project(this.camera);
    const at = { x: ((s.x + 1) / 2) * this.size.x, y: ((1 - s.y) / 2) * this.size.y, hidden: false };
    if (look) {
      const hit = this.pick(at.x, at.y);
      const ray = this.ray(at.x, at.y);
      at.hidden = hit !== null && p.clone().sub(ray.origin).dot(ray.direction) - hit.hit.distance > 0.25;
    }
    return at;
  }

  get width(): number {
    return this.size.x;
  }
  get height(): number {
    return this.size.y;
  }
  hold(on: boolean): void {
    this.controls.enabled = !on;
  }

  dispose(): void {
    cancelAnimationFrame(this.fly);
    for (const s of this.solids.values()) s.dispose();
    this.controls.dispose();
    this.renderer.dispose();
  }
}

/** hex reads #rrggbb as numbers from 0 to 1. */
function hex(s: string): Point {
  const n = parseInt(s.slice(1), 16);
  return [(n >> 16) / 255, ((n >> 8) & 255) / 255, (n & 255) / 255];
}
