// Reading values off a figure: a cursor that says where it is, for pointer and keyboard. Pictures stay as they are without it.

const SVG = "http://www.w3.org/2000/svg";

interface Axis {
  unit: string;
  /** Value to place on an endless ruler, and back; as `tidewall_plot::Scale` has it. */
  forward: (value: number) => number;
  back: (place: number) => number;
  from: number;
  to: number;
}

interface Panel {
  group: SVGGElement;
  box: [number, number, number, number];
  x: Axis;
  y: Axis;
}

/** Begins to listen. */
export function figures(): void {
  document.addEventListener("pointermove", (event) => {
    const svg = (event.target as Element).closest<SVGSVGElement>(".figure svg");
    if (!svg) return;
    const matrix = svg.getScreenCTM()?.inverse();
    if (!matrix) return;
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix);
    const panel = panels(svg).find(({ box }) => at.x >= box[0] && at.x <= box[2] && at.y >= box[1] && at.y <= box[3]);
    if (panel) read(svg, panel, at.x, at.y);
    else clear(svg);
  });
  document.addEventListener("pointerout", (event) => {
    const svg = (event.target as Element).closest<SVGSVGElement>(".figure svg");
    if (svg && !svg.contains(event.relatedTarget as Node | null)) clear(svg);
  });
}

function axis(group: Element, name: "x" | "y"): Axis | null {
  const range = group.getAttribute(`data-${name}-range`)?.split(" ").map(Number);
  const from = range?.[0];
  const to = range?.[1];
  if (from === undefined || to === undefined || !Number.isFinite(from) || !Number.isFinite(to)) return null;
  return {
    unit: group.getAttribute(`data-${name}-unit`) ?? "",
    ...ruler(group.getAttribute(`data-${name}-scale`), Number(group.getAttribute(`data-${name}-within`))),
    from,
    to,
  };
}

function ruler(scale: string | null, within: number): Pick<Axis, "forward" | "back"> {
  switch (scale) {
    case "log":
      return { forward: Math.log10, back: (place) => 10 ** place };
    case "symlog":
      return {
        forward: (value) => (Math.sign(value) * Math.log1p(Math.abs(value) / within)) / Math.LN10,
        back: (place) => Math.sign(place) * within * Math.expm1(Math.abs(place) * Math.LN10),
      };
    default:
      return { forward: (value) => value, back: (place) => place };
  }
}

function panels(svg: SVGSVGElement): Panel[] {
  const found: Panel[] = [];
  for (const group of svg.querySelectorAll<SVGGElement>("[data-panel][data-box]")) {
    const box = (group.getAttribute("data-box") ?? "").split(" ").map(Number);
    const x = axis(group, "x");
    const y = axis(group, "y");
    const [left, top, right, bottom] = box;
    if (left === undefined || top === undefined || right === undefined || bottom === undefined || !x || !y) continue;
    const sides: Panel["box"] = [Math.min(left, right), Math.min(top, bottom), Math.max(left, right), Math.max(top, bottom)];
    found.push({ group, box: sides, x, y });
  }
  return found;
}

function value(axis: Axis, share: number): number {
  const from = axis.forward(axis.from);
  return axis.back(from + share * (axis.forward(axis.to) - from));
}

const PREFIXES: readonly (readonly [number, string])[] = [
  [1e9, "G"], [1e6, "M"], [1e3, "k"], [1, ""], [1e-3, "m"], [1e-6, "µ"], [1e-9, "n"], [1e-12, "p"],
];

/** A value with three digits, a prefix and a real minus sign. */
export function inWords(value: number, unit: string): string {
  const size = Math.abs(value);
  if (size === 0) return `0 ${unit}`;
  const bare = unit === "" || unit === "%" || unit === "°C" || unit === "K";
  const [factor, prefix] = bare ? [1, ""] : (PREFIXES.find(([factor]) => size >= factor * 0.9995) ?? [1e-12, "p"]);
  const text = String(Number((value / factor).toPrecision(3))).replace("-", "−");
  return `${text} ${prefix}${unit}`;
}

function read(svg: SVGSVGElement, panel: Panel, x: number, y: number): void {
  const [left, top, right, bottom] = panel.box;
  const across = value(panel.x, (x - left) / (right - left));
  const up = value(panel.y, (bottom - y) / (bottom - top));
  let cursor = svg.querySelector<SVGGElement>(".cursor");
  if (!cursor) {
    cursor = document.createElementNS(SVG, "g");
    cursor.setAttribute("class", "cursor");
    cursor.setAttribute("aria-hidden", "true");
    cursor.append(document.createElementNS(SVG, "path"), document.createElementNS(SVG, "text"));
    svg.append(cursor);
  }
  cursor.querySelector("path")?.setAttribute("d", `M${x} ${top}V${bottom}M${left} ${y}H${right}`);
  const text = cursor.querySelector("text");
  if (!text) return;
  text.textContent = `${inWords(across, panel.x.unit)}, ${inWords(up, panel.y.unit)}`;
  const late = x > (left + right) / 2;
  text.setAttribute("x", String(late ? x - 6 : x + 6));
  text.setAttribute("y", String(Math.max(y - 6, top + 12)));
  text.setAttribute("text-anchor", late ? "end" : "start");
}

function clear(svg: SVGSVGElement): void {
  svg.querySelector(".cursor")?.remove();
}
