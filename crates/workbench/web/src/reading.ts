// Reading a figure of `tidewall_plot`: its panels, their axes, and the values of its lines, all from the picture itself.

export interface Axis {
  unit: string;
  scale: string;
  /** Value to place on an endless ruler, and back; as `tidewall_plot::Scale` has it. */
  forward: (value: number) => number;
  back: (place: number) => number;
  from: number;
  to: number;
}

export interface Panel {
  number: number;
  group: SVGGElement;
  box: { left: number; top: number; right: number; bottom: number };
  x: Axis;
  y: Axis;
}

function axis(group: Element, name: "x" | "y"): Axis | null {
  const range = group.getAttribute(`data-${name}-range`)?.split(" ").map(Number);
  const from = range?.[0];
  const to = range?.[1];
  if (from === undefined || to === undefined || !Number.isFinite(from) || !Number.isFinite(to)) return null;
  const scale = group.getAttribute(`data-${name}-scale`) ?? "linear";
  return {
    unit: group.getAttribute(`data-${name}-unit`) ?? "",
    scale,
    ...ruler(scale, Number(group.getAttribute(`data-${name}-within`))),
    from,
    to,
  };
}

function ruler(scale: string, within: number): Pick<Axis, "forward" | "back"> {
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

/** The panels of a picture, in their order. */
export function panels(svg: SVGSVGElement): Panel[] {
  const found: Panel[] = [];
  for (const group of svg.querySelectorAll<SVGGElement>("[data-panel][data-box]")) {
    const [left, top, width, height] = (group.getAttribute("data-box") ?? "").split(" ").map(Number);
    const x = axis(group, "x");
    const y = axis(group, "y");
    if (left === undefined || top === undefined || width === undefined || height === undefined || !x || !y) continue;
    const box = { left, top, right: left + width, bottom: top + height };
    found.push({ number: Number(group.getAttribute("data-panel")), group, box, x, y });
  }
  return found;
}

/** Place on an axis's ruler of a share of its length. */
export function place(axis: Axis, share: number): number {
  const from = axis.forward(axis.from);
  return from + share * (axis.forward(axis.to) - from);
}

/** Value at a share of an axis's length. */
export function value(axis: Axis, share: number): number {
  return axis.back(place(axis, share));
}

/** Points of a line in pixels; a gap is a point that is no number. */
const lines = new WeakMap<Element, Float64Array>();

/** Path data of `M x y` and `l dx dy …`, as `tidewall_plot` writes it. */
function walked(path: Element): Float64Array {
  const known = lines.get(path);
  if (known) return known;
  const points: number[] = [];
  for (const run of (path.getAttribute("d") ?? "").split("M")) {
    const numbers = run.match(/-?[\d.]+/g)?.map(Number) ?? [];
    if (points.length > 0) points.push(Number.NaN, Number.NaN);
    let [x, y] = [0, 0];
    for (let k = 0; k + 1 < numbers.length; k += 2) {
      x += numbers[k] as number;
      y += numbers[k + 1] as number;
      points.push(x, y);
    }
  }
  const made = Float64Array.from(points);
  lines.set(path, made);
  return made;
}

/** Height in pixels of each line of a panel at a place across; of a line that turns back the first. */
export function readings(panel: Panel, x: number): { name: string; y: number }[] {
  const found: { name: string; y: number }[] = [];
  for (const path of panel.group.querySelectorAll("path.tw-series")) {
    const points = walked(path);
    for (let k = 2; k + 1 < points.length; k += 2) {
      const [x0, y0, x1, y1] = [points[k - 2], points[k - 1], points[k], points[k + 1]] as [number, number, number, number];
      if ((x0 <= x && x <= x1) || (x1 <= x && x <= x0)) {
        const y = x1 === x0 ? y1 : y0 + ((x - x0) / (x1 - x0)) * (y1 - y0);
        found.push({ name: path.getAttribute("data-name") ?? "", y });
        break;
      }
    }
  }
  return found;
}
