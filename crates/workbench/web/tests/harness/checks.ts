// The table of checks of a sheet against the result of the command line.
import assert from "node:assert/strict";
import type { Page } from "playwright-core";

import type { Result } from "./bench";

const PREFIXES: Record<string, number> = { p: 1e-12, n: 1e-9, µ: 1e-6, m: 1e-3, "": 1, k: 1e3, M: 1e6, G: 1e9 };
/** Units that a check may have; what stands before one is a prefix. */
const UNITS = ["V", "A", "J", "W", "Ω", "F", "H", "s", "K", "°C", "%", "A²s", ""];

/** A number as the page writes it; `null` for none, and for a bound such as "< 0.1". */
function read(text: string): number | null {
  const plain = text.replace(/[\s≤≥\u2007\u2008]/g, "").replace("−", "-");
  return /^-?[\d.]+(e-?\d+)?$/.test(plain) ? Number(plain) : null;
}

function factor(shown: string, si: string): number {
  if (shown === "%" && si !== "%") return 0.01;
  if (shown === si) return 1;
  const base = UNITS.filter((unit) => unit !== "" && shown.endsWith(unit)).sort((a, b) => b.length - a.length)[0] ?? "";
  const prefix = PREFIXES[shown.slice(0, shown.length - base.length)];
  assert.ok(prefix !== undefined, `the unit ${shown} is known`);
  return prefix;
}

/** A row of the table. */
export interface Row {
  check: string;
  stress: string;
  element: string;
  value: string;
  limit: string;
  unit: string;
  margin: string;
  verdict: string;
}

/** The table of checks of the page. */
export function rows(page: Page): Promise<Row[]> {
  return page.locator("table.checks tbody tr").evaluateAll((all) =>
    all.map((row) => {
      const cells = [...row.querySelectorAll(":scope > th, :scope > td")];
      const text = (k: number): string => {
        const cell = cells[k];
        return (cell?.querySelector("summary") ?? cell)?.textContent?.trim() ?? "";
      };
      return {
        check: text(0),
        stress: text(1),
        element: text(2),
        value: text(3),
        limit: text(4),
        unit: text(5),
        margin: text(6),
        verdict: text(7),
      };
    }),
  );
}

/** The row of a check. */
export async function row(page: Page, check: string, stress: string, element: string): Promise<Row> {
  const found = (await rows(page)).find(
    (each) => each.check === check && each.stress === stress && each.element === element,
  );
  assert.ok(found, `${check}, ${stress}, ${element} is in the table`);
  return found;
}

/** Fails unless the page says what the result says, in each row to the digits that it shows. */
export async function agrees(page: Page, result: Result): Promise<void> {
  const shown = await rows(page);
  assert.equal(shown.length, result.checks.length);
  assert.equal(await page.locator(".judged .verdict").innerText(), result.verdict);
  let compared = 0;
  for (const [k, check] of result.checks.entries()) {
    const line = shown[k];
    assert.ok(line);
    assert.deepEqual(
      [line.check, line.stress, line.element, line.verdict],
      [check.check, check.stress ?? "–", check.element, check.verdict],
    );
    for (const [text, value] of [
      [line.value, check.value],
      [line.limit, check.limit],
    ] as const) {
      const number = read(text);
      if (number === null || value === null) continue;
      const si = number * factor(line.unit, check.unit);
      // Values and limits of a row share their decimals: one in the last of four digits of the larger one.
      const size = Math.max(Math.abs(check.value ?? 0), Math.abs(check.limit ?? 0));
      assert.ok(Math.abs(si - value) <= 1e-3 * size + 1e-15, `${check.check} ${check.element}: ${text} ${line.unit} is not ${value}`);
      compared += 1;
    }
    const margin = read(line.margin);
    if (margin !== null && check.margin !== null) {
      assert.ok(Math.abs(margin / 100 - check.margin) <= 0.000_51, `${check.check}: ${line.margin} is not ${check.margin}`);
      compared += 1;
    }
  }
  assert.ok(compared > shown.length, `${compared} numbers were compared`);
}
