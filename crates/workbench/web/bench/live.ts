// How fast the workbench answers: start, first page, and an edit until its figures stand redrawn, all corners judged.
// `sh scripts/bench open` runs it on the release program; nothing here is a test.
import { writeFileSync } from "node:fs";
import { performance } from "node:perf_hooks";
import type { Page } from "playwright-core";

import { Bench } from "../tests/harness/bench";
import { closeBrowser, Window } from "../tests/harness/window";

const EDITS = Number(process.env["TIDEWALL_EDITS"] ?? 30);
const STUDIES = [
  "supply-24v.toml",
  "supply-24v-avalanche.toml",
  "level-sensor-io-link.toml",
  "heater-24vac.toml",
  "camera-poe.toml",
  "service-usb-c.toml",
  "sonde-rs485.toml",
];

interface Row {
  study: string;
  /** Bytes of the page with script and style sheet. */
  bytes: number;
  /** Milliseconds from asking for the page to its first paint, before anything was judged. */
  firstPaint: number;
  /** Milliseconds of each edit, from the change of the field to the frame in which every figure is of the new text. */
  edits: number[];
  /** Milliseconds after which the answer to each edit was shown, its figures still of the text before perhaps. */
  answers: number[];
}

function share(values: number[], part: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.ceil(part * sorted.length) - 1)] ?? Number.NaN;
}

/** Changes a field as a hand does, and waits for the figures. */
async function edit(page: Page, id: string, value: string): Promise<{ redrawn: number; answered: number }> {
  return page.evaluate(
    async ({ id, value }) => {
      const field = document.getElementById(id) as HTMLInputElement;
      const before = document.querySelector("#part-margins")?.getAttribute("data-revision");
      let answered = Number.NaN;
      const started = performance.now();
      const done = new Promise<number>((resolve) => {
        const look = (): void => {
          const now = document.querySelector("#part-margins")?.getAttribute("data-revision");
          const fresh = now !== before && document.querySelector(".figures.stale, .verdict.running") === null;
          if (fresh) requestAnimationFrame(() => resolve(performance.now() - started));
          else setTimeout(look, 1);
        };
        document.addEventListener("tidewall:edited", () => {
          answered = performance.now() - started;
          look();
        }, { once: true });
      });
      field.focus();
      field.value = value;
      field.dispatchEvent(new Event("change", { bubbles: true }));
      return { redrawn: await done, answered };
    },
    { id, value },
  );
}

async function measured(study: string): Promise<Row> {
  const bench = await Bench.start([study]);
  const window = await Window.open(bench);
  try {
    const page = window.page;
    const before = window.bytes;
    await page.goto(`${bench.origin}/study/${encodeURIComponent(study)}`);
    const firstPaint = await page.evaluate(
      () => performance.getEntriesByName("first-contentful-paint")[0]?.startTime ?? Number.NaN,
    );
    await window.settled();
    await page.waitForLoadState("networkidle").catch(() => undefined);
    const bytes = window.bytes - before;
    const id = await page.evaluate(
      () => [...document.querySelectorAll<HTMLInputElement>("input[data-at]")].find((input) => /(^|\.)lead$/.test(input.dataset["at"] ?? ""))?.id ?? "",
    );
    const edits: number[] = [];
    const answers: number[] = [];
    for (let k = 0; k < EDITS; k += 1) {
      // A value that was never there, so that nothing is known of it.
      const { redrawn, answered } = await edit(page, id, `${(2 + 0.013 * (k + 1)).toFixed(3)} nH`);
      edits.push(redrawn);
      answers.push(answered);
    }
    return { study, bytes, firstPaint, edits, answers };
  } finally {
    await window.close();
    await bench.stop();
  }
}

async function starts(): Promise<number[]> {
  const times: number[] = [];
  for (let k = 0; k < 7; k += 1) {
    const begun = performance.now();
    const bench = await Bench.start(["supply-24v.toml"]);
    const { cookie } = await bench.keys();
    await (await fetch(`${bench.origin}/study/supply-24v.toml`, { headers: { cookie, accept: "text/html" } })).text();
    times.push(performance.now() - begun);
    await bench.stop();
  }
  return times;
}

const ms = (value: number): string => `${value.toFixed(value < 10 ? 1 : 0)} ms`;
const rows: Row[] = [];
const started = await starts();
for (const study of STUDIES) rows.push(await measured(study));
await closeBrowser();

const lines = [
  "The workbench in Chromium, on the release program.",
  "",
  `From starting the program to the whole of a study's page: median ${ms(share(started, 0.5))}, worst ${ms(share(started, 1))}`,
  "",
  `Edit (a lead inductance, ${EDITS} values never seen) to redrawn figures, every corner judged:`,
  "",
  `${"study".padEnd(28)}${"median".padStart(10)}${"95 %".padStart(10)}${"answered".padStart(10)}${"first paint".padStart(13)}${"page".padStart(10)}`,
];
for (const row of rows) {
  const cells = [ms(share(row.edits, 0.5)), ms(share(row.edits, 0.95)), ms(share(row.answers, 0.5))].map((text) => text.padStart(10));
  lines.push(`${row.study.padEnd(28)}${cells.join("")}${ms(row.firstPaint).padStart(13)}${`${Math.round(row.bytes / 1000)} kB`.padStart(10)}`);
}
const all = rows.flatMap((row) => row.edits);
lines.push("", `All studies: median ${ms(share(all, 0.5))}, 95 % ${ms(share(all, 0.95))}`);
console.log(lines.join("\n"));
const to = process.argv[2];
if (to) writeFileSync(to, JSON.stringify({ started, rows }, undefined, 1));
