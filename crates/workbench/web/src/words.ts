// Numbers as people read them.

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
