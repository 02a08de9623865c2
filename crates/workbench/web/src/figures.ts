// What a reader does with a figure: a cursor that reads values, another range or scale, a copy of the picture. Pictures stay
// as they are without it.
import { panels, place, readings, value, type Panel } from "./reading";
import { fragment } from "./request";
import { explain } from "./status";
import { inWords } from "./words";

const SVG = "http://www.w3.org/2000/svg";

/** Another view of one panel, as the server reads it. */
interface View {
  panel: number;
  x?: [number, number];
  y?: [number, number];
  x_log?: boolean;
  y_log?: boolean;
}

/** Where the cursor stands: number of the panel, and a share of its width. */
interface Cursor {
  panel: number;
  share: number;
}

/** Views by the id of the picture, so that they outlive its redrawing. */
const views = new Map<string, View[]>();
const cursors = new WeakMap<Element, Cursor>();

/** Begins to listen. */
export function figures(): void {
  document.addEventListener("pointermove", moved);
  document.addEventListener("pointerout", (event) => {
    const svg = picture(event.target);
    if (svg && !svg.contains(event.relatedTarget as Node | null)) clear(svg);
  });
  document.addEventListener("pointerdown", begun);
  document.addEventListener("dblclick", (event) => {
    const svg = picture(event.target);
    if (svg) void show(svg, "all");
  });
  document.addEventListener("keydown", pressed);
  document.addEventListener("click", clicked);
  document.addEventListener("tidewall:drawn", (event) => prepare((event as CustomEvent<Element>).detail));
  prepare(document);
}

/** Shows what only works with a script, and gives pictures the views that they had. */
function prepare(root: ParentNode): void {
  for (const tools of root.querySelectorAll<HTMLElement>(".figure .views, .figure [data-save=png]")) tools.hidden = false;
  for (const svg of root.querySelectorAll<SVGSVGElement>(".figure[data-figure] svg")) {
    if ((views.get(svg.id) ?? []).length > 0) void redraw(svg);
  }
}

function picture(target: EventTarget | null): SVGSVGElement | null {
  const svg = target instanceof Element ? target.closest<SVGSVGElement>(".figure[data-figure] svg") : null;
  return svg && panels(svg).length > 0 ? svg : null;
}

/** The panel under the pointer, and where in it. */
function under(svg: SVGSVGElement, event: MouseEvent): { panel: Panel; x: number; y: number } | null {
  const matrix = svg.getScreenCTM()?.inverse();
  if (!matrix) return null;
  const { x, y } = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix);
  const panel = panels(svg).find(({ box }) => x >= box.left && x <= box.right && y >= box.top && y <= box.bottom);
  return panel ? { panel, x, y } : null;
}

function moved(event: PointerEvent): void {
  const svg = picture(event.target);
  if (!svg || dragging) return;
  const at = under(svg, event);
  if (!at) {
    clear(svg);
    return;
  }
  const share = (at.x - at.panel.box.left) / (at.panel.box.right - at.panel.box.left);
  cursors.set(figureOf(svg), { panel: at.panel.number, share });
  mark(svg, at.panel, at.x, at.y);
}

const figureOf = (inside: Element): HTMLElement => inside.closest<HTMLElement>(".figure") as HTMLElement;

/** Draws the cursor and says what stands there. `y` is where the pointer is; the keyboard has none. */
function mark(svg: SVGSVGElement, panel: Panel, x: number, y?: number): void {
  clear(svg);
  const { box } = panel;
  const cursor = document.createElementNS(SVG, "g");
  cursor.setAttribute("class", "cursor");
  cursor.setAttribute("aria-hidden", "true");
  const lines = document.createElementNS(SVG, "path");
  lines.setAttribute("d", `M${x} ${box.top}V${box.bottom}${y === undefined ? "" : `M${box.left} ${y}H${box.right}`}`);
  cursor.append(lines);
  const said: string[] = [];
  for (const { name, y: height } of readings(panel, x)) {
    said.push(`${name} ${inWords(value(panel.y, (box.bottom - height) / (box.bottom - box.top)), panel.y.unit)}`);
    const dot = document.createElementNS(SVG, "circle");
    for (const [key, of] of [["cx", x], ["cy", height], ["r", 2.6]] as const) dot.setAttribute(key, String(of));
    cursor.append(dot);
  }
  svg.append(cursor);
  const across = inWords(value(panel.x, (x - box.left) / (box.right - box.left)), panel.x.unit);
  const up = y === undefined ? "" : `, ${inWords(value(panel.y, (box.bottom - y) / (box.bottom - box.top)), panel.y.unit)}`;
  const readout = figureOf(svg).querySelector(".readout");
  if (readout) readout.textContent = `${across}${up}${said.length > 0 ? `: ${said.join("; ")}` : ""}`;
}

function clear(svg: SVGSVGElement): void {
  svg.querySelector(".cursor")?.remove();
  const readout = figureOf(svg).querySelector(".readout");
  if (readout) readout.textContent = "";
}

let dragging = false;

/** A rectangle that is drawn with the mouse becomes the range; one without height leaves the upright range to the data. */
function begun(event: PointerEvent): void {
  const svg = picture(event.target);
  if (!svg || event.button !== 0 || event.pointerType === "touch") return;
  const from = under(svg, event);
  if (!from) return;
  const { box } = from.panel;
  const frame = document.createElementNS(SVG, "rect");
  frame.setAttribute("class", "chosen");
  const control = new AbortController();
  let to = { x: from.x, y: from.y };
  const within = (value: number, low: number, high: number): number => Math.min(Math.max(value, low), high);
  const follow = (event: PointerEvent): void => {
    const matrix = svg.getScreenCTM()?.inverse();
    if (!matrix) return;
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix);
    to = { x: within(at.x, box.left, box.right), y: within(at.y, box.top, box.bottom) };
    if (Math.abs(to.x - from.x) < 6) return;
    dragging = true;
    clear(svg);
    const tall = Math.abs(to.y - from.y) >= 14;
    frame.setAttribute("x", String(Math.min(from.x, to.x)));
    frame.setAttribute("width", String(Math.abs(to.x - from.x)));
    frame.setAttribute("y", String(tall ? Math.min(from.y, to.y) : box.top));
    frame.setAttribute("height", String(tall ? Math.abs(to.y - from.y) : box.bottom - box.top));
    if (!frame.isConnected) svg.append(frame);
  };
  const done = (): void => {
    control.abort();
    frame.remove();
    if (!dragging) return;
    dragging = false;
    const across = ends((x: number) => value(from.panel.x, (x - box.left) / (box.right - box.left)), from.x, to.x);
    const tall = Math.abs(to.y - from.y) >= 14;
    const up = ends((y: number) => value(from.panel.y, (box.bottom - y) / (box.bottom - box.top)), from.y, to.y);
    change(svg, from.panel.number, tall ? { x: across, y: up } : { x: across });
  };
  document.addEventListener("pointermove", follow, { signal: control.signal });
  document.addEventListener("pointerup", done, { signal: control.signal });
  document.addEventListener("pointercancel", done, { signal: control.signal });
  event.preventDefault();
  svg.closest<HTMLElement>(".picture")?.focus({ preventScroll: true });
}

function ends(of: (at: number) => number, one: number, other: number): [number, number] {
  const [a, b] = [of(one), of(other)];
  return a < b ? [a, b] : [b, a];
}

/** The panel of the cursor; the first where there is none. */
function chosen(svg: SVGSVGElement): { panel: Panel; share: number } | null {
  const all = panels(svg);
  const cursor = cursors.get(figureOf(svg));
  const panel = all.find(({ number }) => number === cursor?.panel) ?? all[0];
  return panel ? { panel, share: cursor?.share ?? 0.5 } : null;
}

type Wish = "closer" | "wider" | "all" | "x-log" | "y-log";

async function show(svg: SVGSVGElement, wish: Wish): Promise<void> {
  const at = chosen(svg);
  if (!at) return;
  const { panel, share } = at;
  switch (wish) {
    case "all":
      views.delete(svg.id);
      await redraw(svg);
      return;
    case "closer":
    case "wider": {
      const factor = wish === "closer" ? 0.5 : 2;
      const [from, to] = [place(panel.x, 0), place(panel.x, 1)];
      const middle = from + share * (to - from);
      const low = panel.x.back(middle - factor * (middle - from));
      const high = panel.x.back(middle + factor * (to - middle));
      change(svg, panel.number, { x: low < high ? [low, high] : [high, low] });
      return;
    }
    case "x-log":
      change(svg, panel.number, { x_log: panel.x.scale === "linear" });
      return;
    case "y-log":
      change(svg, panel.number, { y_log: panel.y.scale === "linear" });
  }
}

/** Changes the view of a panel; what is not said stays, but for an upright range when the one across moves. */
function change(svg: SVGSVGElement, panel: number, wish: Omit<View, "panel">): void {
  const all = views.get(svg.id) ?? [];
  const before = all.find((view) => view.panel === panel);
  const { y: _, ...rest } = before ?? {};
  const next: View = { ...(wish.x ? rest : before), ...wish, panel };
  // A range of another scale may hold what that one has no place for.
  if (wish.x_log !== undefined) delete next.x;
  if (wish.y_log !== undefined) delete next.y;
  views.set(svg.id, [...all.filter((view) => view !== before), next]);
  void redraw(svg);
}

const query = (id: string): string => {
  const asked = views.get(id) ?? [];
  return asked.length > 0 ? `?views=${encodeURIComponent(JSON.stringify(asked))}` : "";
};

async function redraw(svg: SVGSVGElement): Promise<void> {
  const figure = figureOf(svg);
  const { id } = svg;
  const address = `/figure/${figure.dataset["figure"] ?? ""}`;
  try {
    const text = await fragment(`${address}/view${query(id)}`);
    const template = document.createElement("template");
    template.innerHTML = text;
    const fresh = template.content.firstElementChild;
    const present = figure.querySelector("svg");
    if (!(fresh instanceof SVGSVGElement) || !present) return;
    present.replaceWith(fresh);
    figure.querySelector<HTMLAnchorElement>("[data-save=svg]")?.setAttribute("href", `${address}/picture.svg${query(id)}`);
    const at = chosen(fresh);
    for (const axis of ["x", "y"] as const) {
      const log = at?.panel[axis].scale !== "linear";
      figure.querySelector(`[data-view=${axis}-log]`)?.setAttribute("aria-pressed", String(log));
    }
  } catch (error) {
    explain(error);
  }
}

function clicked(event: MouseEvent): void {
  const button = event.target instanceof Element ? event.target.closest<HTMLElement>(".figure [data-view], .figure [data-save=png]") : null;
  const svg = button ? figureOf(button).querySelector("svg") : null;
  if (!button || !svg) return;
  const wish = button.dataset["view"] as Wish | undefined;
  if (wish) void show(svg, wish);
  else void save(svg);
}

const WISHES: { readonly [key: string]: Wish } = {
  "+": "closer", "=": "closer", "-": "wider", "−": "wider", "0": "all", l: "y-log", L: "x-log",
};

function pressed(event: KeyboardEvent): void {
  const focus = event.target;
  if (!(focus instanceof HTMLElement) || !focus.matches(".figure .picture") || event.ctrlKey || event.metaKey || event.altKey) return;
  const svg = picture(focus.querySelector("svg"));
  const at = svg ? chosen(svg) : null;
  if (!svg || !at) return;
  const wish = WISHES[event.key];
  if (wish) {
    event.preventDefault();
    void show(svg, wish);
    return;
  }
  const all = panels(svg);
  const number = all.indexOf(at.panel);
  const step = event.shiftKey ? 0.05 : 0.005;
  const next = { panel: number, share: at.share };
  switch (event.key) {
    case "ArrowLeft": next.share -= step; break;
    case "ArrowRight": next.share += step; break;
    case "Home": next.share = 0; break;
    case "End": next.share = 1; break;
    case "ArrowUp": next.panel -= 1; break;
    case "ArrowDown": next.panel += 1; break;
    case "Escape": clear(svg); return;
    default: return;
  }
  event.preventDefault();
  const panel = all[Math.min(Math.max(next.panel, 0), all.length - 1)] ?? at.panel;
  const share = Math.min(Math.max(next.share, 0), 1);
  cursors.set(figureOf(svg), { panel: panel.number, share });
  mark(svg, panel, panel.box.left + share * (panel.box.right - panel.box.left));
}

/** Saves the picture as pixels, twice as many as on the screen, on white. */
async function save(svg: SVGSVGElement): Promise<void> {
  const copy = svg.cloneNode(true) as SVGSVGElement;
  copy.querySelector(".cursor")?.remove();
  const [width, height] = [svg.viewBox.baseVal.width, svg.viewBox.baseVal.height];
  copy.setAttribute("width", String(2 * width));
  copy.setAttribute("height", String(2 * height));
  const image = new Image();
  image.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(new XMLSerializer().serializeToString(copy))}`;
  try {
    await image.decode();
    const canvas = document.createElement("canvas");
    canvas.width = 2 * width;
    canvas.height = 2 * height;
    const paint = canvas.getContext("2d");
    if (!paint) throw new Error("this browser draws no pixels");
    paint.fillStyle = "#fff";
    paint.fillRect(0, 0, canvas.width, canvas.height);
    paint.drawImage(image, 0, 0);
    const link = document.createElement("a");
    link.href = canvas.toDataURL("image/png");
    link.download = `${svg.id}.png`;
    link.click();
  } catch (error) {
    explain(error);
  }
}
