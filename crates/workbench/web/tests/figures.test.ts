// Figures: values read by pointer and keyboard, other ranges and scales, copies of picture and data.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import type { Locator, Page } from "playwright-core";

import { type Scene, scene } from "./harness/browser";

const STUDY = "level-sensor-io-link.toml";

/** The figure of the waveforms of a stress. */
async function waves({ page, window, bench }: Scene, stress: string): Promise<Locator> {
  await page.goto(`${bench.origin}/study/${STUDY}`);
  await window.settled();
  const figure = page.locator(".figure").filter({ has: page.locator(`svg#waveforms-${stress}`) });
  await figure.locator("svg").waitFor();
  return figure;
}

/** What a panel of it shows. */
async function range(figure: Locator, axis: "x" | "y" = "x", panel = 0): Promise<[number, number]> {
  const text = await figure.locator(`[data-panel="${panel}"]`).getAttribute(`data-${axis}-range`);
  const [from, to] = (text ?? "").split(" ").map(Number);
  return [from ?? Number.NaN, to ?? Number.NaN];
}

/** Does something and waits until the picture has been drawn anew. */
async function redrawn(figure: Locator, act: () => Promise<unknown>): Promise<void> {
  const before = await figure.locator("svg").elementHandle();
  await act();
  await before?.evaluate(
    (svg) =>
      new Promise<void>((done) => {
        const look = (): void => (svg.isConnected ? void setTimeout(look, 5) : done());
        look();
      }),
  );
}

async function saved(page: Page, press: () => Promise<unknown>): Promise<{ name: string; bytes: Buffer }> {
  const [download] = await Promise.all([page.waitForEvent("download"), press()]);
  return { name: download.suggestedFilename(), bytes: readFileSync(await download.path()) };
}

/** Columns of a table of comma-separated values, by heading. */
function columns(csv: string): Map<string, number[]> {
  const [head = "", ...rows] = csv.trim().split("\r\n");
  const cells = rows.map((row) => row.split(",").map(Number));
  return new Map(head.split(",").map((name, k) => [name, cells.map((row) => row[k] ?? Number.NaN)]));
}

scene("a dragged rectangle becomes the range, and All brings everything back", [STUDY], async (on) => {
  const { page, window } = on;
  const figure = await waves(on, "esd");
  const panel = figure.locator('[data-panel="0"]');
  await panel.scrollIntoViewIfNeeded();
  const [from, to] = await range(figure);
  const frame = await figure.locator("svg").evaluate((svg) => {
    const [left, top, width, height] = (svg.querySelector('[data-panel="0"]')?.getAttribute("data-box") ?? "").split(" ").map(Number) as [number, number, number, number];
    const matrix = (svg as SVGSVGElement).getScreenCTM() as DOMMatrix;
    const at = (x: number, y: number): DOMPoint => new DOMPoint(x, y).matrixTransform(matrix);
    const [a, b] = [at(left, top), at(left + width, top + height)];
    return { left: a.x, top: a.y, right: b.x, bottom: b.y };
  });
  const middle = (frame.top + frame.bottom) / 2;
  await redrawn(figure, async () => {
    await page.mouse.move(frame.left + 0.1 * (frame.right - frame.left), middle);
    await page.mouse.down();
    await page.mouse.move(frame.left + 0.35 * (frame.right - frame.left), middle + 3, { steps: 5 });
    await page.mouse.up();
  });
  const closer = await range(figure);
  const span = to - from;
  assert.ok(Math.abs(closer[0] - from - 0.1 * span) < 0.02 * span, `${closer} of ${from} to ${to}`);
  assert.ok(Math.abs(closer[1] - from - 0.35 * span) < 0.02 * span, `${closer} of ${from} to ${to}`);
  assert.deepEqual(await range(figure, "x", 2), closer, "the panel below follows");
  await window.clean();
  await window.shot("figure-closer");
  await redrawn(figure, () => figure.getByRole("button", { name: "All" }).click());
  assert.deepEqual(await range(figure), [from, to]);
});

scene("values are read by keyboard and are those of the data", [STUDY], async (on) => {
  const { page } = on;
  const figure = await waves(on, "surge");
  const picture = figure.locator(".picture");
  await picture.focus();
  for (let k = 0; k < 4; k += 1) await page.keyboard.press("Shift+ArrowRight");
  const said = await figure.locator(".readout").innerText();
  const [, time = "", unit = "", volts = ""] = /^([\d.]+) (\S+): .*pin (−?[\d.]+) V/.exec(said) ?? [];
  assert.equal(unit, "µs", said);
  const { name, bytes } = await saved(page, () => figure.getByRole("link", { name: "CSV" }).click());
  assert.equal(name, "waveforms-surge.csv");
  const data = columns(bytes.toString());
  const [times, pin] = [data.get("time (s)") ?? [], data.get("pin (V)") ?? []];
  assert.ok(times.length > 50, `${times.length} rows`);
  const after = times.findIndex((at) => at >= Number(time) * 1e-6);
  const share = (Number(time) * 1e-6 - (times[after - 1] ?? 0)) / ((times[after] ?? 0) - (times[after - 1] ?? 0));
  const wanted = (pin[after - 1] ?? 0) + share * ((pin[after] ?? 0) - (pin[after - 1] ?? 0));
  const found = Number(volts.replace("−", "-"));
  assert.ok(Math.abs(found - wanted) < 0.01 * Math.abs(wanted) + 0.1, `${said}: ${wanted} in the data`);
  await picture.press("Escape");
  assert.equal(await figure.locator(".readout").innerText(), "");
});

scene("keys and buttons zoom and change the scale", [STUDY], async (on) => {
  const { page } = on;
  const figure = await waves(on, "surge");
  const [from, to] = await range(figure);
  await figure.locator(".picture").focus();
  await page.keyboard.press("Home");
  await redrawn(figure, () => page.keyboard.press("+"));
  assert.deepEqual(await range(figure), [from, from + (to - from) / 2]);
  await redrawn(figure, () => page.keyboard.press("l"));
  assert.notEqual(await figure.locator('[data-panel="0"]').getAttribute("data-y-scale"), "linear");
  assert.equal(await figure.getByRole("button", { name: "Log ↕" }).getAttribute("aria-pressed"), "true");
  await redrawn(figure, () => page.keyboard.press("0"));
  assert.deepEqual(await range(figure), [from, to]);
  await redrawn(figure, () => figure.getByRole("button", { name: "Wider" }).click());
  const wide = await range(figure);
  assert.ok(wide[1] - wide[0] > 1.9 * (to - from), `${wide}`);
});

scene("a closer look outlives an edit", [STUDY], async (on) => {
  const { page, bench, window } = on;
  const figure = await waves(on, "esd");
  await figure.locator(".picture").focus();
  await page.keyboard.press("Home");
  await redrawn(figure, () => page.keyboard.press("+"));
  const closer = await range(figure);
  const lead = page.locator("#part-ladder input").and(page.locator('[value="0.5 nH"]')).first();
  await lead.fill("3 nH");
  await lead.press("Enter");
  await page.waitForFunction(() => document.querySelector(".figures.stale, .verdict.running") === null && document.querySelector('[value="3 nH"]') !== null);
  await window.settled();
  assert.match(bench.read(STUDY), /3 nH/);
  await page.waitForFunction(
    (text) => document.querySelector('svg#waveforms-esd [data-panel="0"]')?.getAttribute("data-x-range") === text,
    closer.join(" "),
  );
});

scene("picture and data are saved", [STUDY], async (on) => {
  const { page } = on;
  const figure = await waves(on, "esd");
  await figure.locator(".picture").focus();
  await page.keyboard.press("Home");
  await redrawn(figure, () => page.keyboard.press("+"));
  const shown = await figure.locator('[data-panel="0"]').getAttribute("data-x-range");
  const svg = await saved(page, () => figure.getByRole("link", { name: "SVG" }).click());
  assert.equal(svg.name, "waveforms-esd.svg");
  assert.match(svg.bytes.toString(), /^<\?xml version="1.0" encoding="UTF-8"\?>\n<svg xmlns="http:\/\/www.w3.org\/2000\/svg"/);
  assert.ok(svg.bytes.toString().includes(`data-x-range="${shown}"`), "in the view that is shown");
  const png = await saved(page, () => figure.getByRole("button", { name: "PNG" }).click());
  assert.equal(png.name, "waveforms-esd.png");
  assert.equal(png.bytes.subarray(1, 4).toString("latin1"), "PNG");
  assert.equal(png.bytes.readUInt32BE(16), 1280, "two pixels for each of the picture");
  const margins = page.locator(".figure").filter({ has: page.locator("svg#margins") });
  const csv = await saved(page, () => margins.getByRole("link", { name: "CSV" }).click());
  assert.match(csv.bytes.toString(), /^check/);
});

scene("a view that cannot be is refused with the reason", [STUDY], async (on) => {
  const { page, bench } = on;
  const figure = await waves(on, "esd");
  const key = await figure.getAttribute("data-figure");
  const ask = (address: string): Promise<{ status: number; text: string }> =>
    page.evaluate(async (address) => {
      const answer = await fetch(address, { headers: { accept: "application/json" } });
      return { status: answer.status, text: await answer.text() };
    }, `${bench.origin}${address}`);
  on.window.allow(/40[04]/);
  const wrong = await ask(`/figure/${key}/view?views=%5B%7B%7D%5D`);
  assert.equal(wrong.status, 400);
  assert.match(wrong.text, /`views` cannot be read/);
  assert.equal((await ask("/figure/000000/view")).status, 404);
  assert.equal((await ask(`/figure/${key}/secret`)).status, 404);
});
