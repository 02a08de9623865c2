// Long runs: ranked, used, compared, stopped, lost; plan and report downloaded.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { after, before, test } from "node:test";
import type { Page } from "playwright-core";

import { Bench } from "./harness/bench";
import { type Look, scene, through } from "./harness/browser";

const STUDY = "level-sensor-io-link.toml";
const PLACE = `/study/${STUDY}`;
/** How long a run may take on a busy machine. */
const RUN = { timeout: 180_000 };
const LOOKS: Look[] = [
  { scheme: "light", width: 1280 },
  { scheme: "dark", width: 1280 },
  { scheme: "light", width: 390 },
  { scheme: "dark", width: 390 },
];

/** Ranks the avalanche diodes of the study. */
async function rank(page: Page, origin: string): Promise<void> {
  await page.goto(`${origin}${PLACE}/candidates`);
  await page.getByText(/^Families/).click();
  await page.getByLabel("avalanche diode", { exact: true }).check();
  await page.getByRole("button", { name: "Rank candidates" }).click();
  await page.locator("table.ranking").waitFor(RUN);
}

/** What a download holds. */
async function saved(page: Page, name: string): Promise<{ file: string; bytes: Buffer }> {
  const [download] = await Promise.all([page.waitForEvent("download", RUN), page.getByRole("link", { name }).click(RUN)]);
  return { file: download.suggestedFilename(), bytes: readFileSync(await download.path()) };
}

scene("a part is replaced from the ranking, by keyboard alone", [STUDY], async ({ bench, page }) => {
  const wanted = bench.read(STUDY);
  bench.write(STUDY, wanted.replace('"birch-36"', '"alder-36"'));
  await rank(page, bench.origin);
  await page.getByRole("button", { name: "Use in D1: birch-36" }).focus();
  await page.keyboard.press("Enter");
  await page.getByRole("row").filter({ hasText: "birch-36" }).getByText("stands there").waitFor();
  assert.equal(bench.read(STUDY), wanted, "the name alone has changed");
  await page.getByText("have changed since").first().waitFor();
  await page.goto(`${bench.origin}${PLACE}`);
  await page.locator('input[value="birch-36"]').first().waitFor();
});

scene("rows are sorted by the buttons of their columns", [STUDY], async ({ bench, page, window }) => {
  await page.goto(`${bench.origin}${PLACE}/candidates`);
  await page.getByLabel(/^D1/).uncheck();
  await page.getByLabel(/^connector/).check();
  await page.getByLabel("values").first().fill("5mΩ, 1Ω, 10Ω");
  await page.getByRole("button", { name: "Rank candidates" }).click();
  await page.locator("table.ranking").waitFor(RUN);
  const parts = (): Promise<string[]> => page.locator("table.ranking tbody th summary").allTextContents();
  const button = page.locator("#sort-part");
  await button.press("Enter");
  await page.locator('th[aria-sort="ascending"] #sort-part').waitFor();
  assert.deepEqual(await parts(), ["5 mΩ", "1 Ω", "10 Ω"]);
  await button.press("Enter");
  await page.locator('th[aria-sort="descending"] #sort-part').waitFor();
  assert.deepEqual(await parts(), ["10 Ω", "1 Ω", "5 mΩ"]);
  assert.equal(await page.evaluate(() => document.activeElement?.id), "sort-part", "the focus stays on the button");
  await page.getByLabel("margin ≥ %").fill("1000");
  await page.getByLabel("margin ≥ %").press("Enter");
  await page.getByText("0 of 3 that hold are shown").waitFor();
  await page.reload();
  await page.getByText("0 of 3 that hold are shown").waitFor();
  assert.equal(await page.getByLabel("margin ≥ %").inputValue(), "1000", "the address holds what is shown");
  await window.clean();
});

scene("two parts are compared", [STUDY], async ({ bench, page }) => {
  await rank(page, bench.origin);
  const tick = page.getByRole("checkbox", { name: "compare birch-36" });
  await tick.check();
  await page.getByRole("button", { name: "Compare the ticked parts" }).click();
  await page.locator("table.beside").waitFor(RUN);
  await page.getByLabel("part 2").fill("maple-33");
  await page.getByLabel("part 2").press("Enter");
  for (const name of ["birch-36", "maple-33"]) await page.getByRole("columnheader", { name }).waitFor();
  await page.getByRole("heading", { name: "maple-33 against birch-36" }).waitFor();
  assert.equal(await page.locator("#part-compare figure svg").count(), 2);
});

scene("a run is stopped, and keeps what is done", [STUDY], async ({ bench, page }) => {
  await page.goto(`${bench.origin}${PLACE}/draws`);
  await page.locator("input[name=draws]").fill("1000000");
  await page.getByRole("button", { name: "Draw", exact: true }).click();
  await page.locator("[data-counted]").filter({ hasText: "of 1000000" }).waitFor(RUN);
  await page.reload();
  await page.getByRole("button", { name: "Stop" }).click();
  await page.getByText("of 1000000 draws asked for, stopped").waitFor(RUN);
});

scene("a run that was going on when the workbench was killed is said to be lost", [STUDY], async ({ bench, page, window }) => {
  window.allow(/ERR_|Failed to load/);
  await page.goto(`${bench.origin}${PLACE}/draws`);
  await page.locator("input[name=draws]").fill("1000000");
  await page.getByRole("button", { name: "Draw", exact: true }).click();
  await page.locator("#part-draws progress").waitFor();
  const address = page.url();
  await bench.end("SIGKILL");
  await page.getByText("The workbench does not answer").waitFor();
  await bench.run();
  await page.goto(bench.url);
  await page.goto(address);
  await page.getByText("is lost; nothing else is").waitFor();
});

scene("plan and report are downloaded", [STUDY], async ({ bench, page, window }) => {
  await page.goto(`${bench.origin}${PLACE}/plan`);
  const csv = await saved(page, "Download CSV");
  assert.equal(csv.file, "level-sensor-io-link-plan.csv");
  assert.match(csv.bytes.toString(), /^group,stress,standard/);
  const json = await saved(page, "Download JSON");
  assert.equal((JSON.parse(json.bytes.toString()) as { schema: string }).schema, "tidewall/plan/1");

  await page.goto(`${bench.origin}${PLACE}/report`);
  await page.getByRole("button", { name: "Make the report" }).click();
  const html = await saved(page, "Download HTML");
  assert.match(html.bytes.toString(), /^<!DOCTYPE html>/i);
  const workbook = await saved(page, "Download workbook (XLSX)");
  assert.equal(workbook.bytes.subarray(0, 2).toString(), "PK");
  if ((await page.getByRole("link", { name: "Download PDF" }).count()) > 0) {
    const pdf = await saved(page, "Download PDF");
    assert.equal(pdf.bytes.subarray(0, 4).toString(), "%PDF");
  } else {
    await page.getByText("This build has no PDF").waitFor();
  }
  await page.getByRole("link", { name: "Read it" }).click();
  await page.getByRole("heading", { level: 1 }).waitFor();
  const ruled = await page.evaluate(() => getComputedStyle(document.body).maxWidth);
  assert.notEqual(ruled, "none", "its own style sheet is let in");
  await window.clean();
});

let bench: Bench;
before(async () => {
  bench = await Bench.start([STUDY]);
});
after(() => bench.stop());

for (const look of LOOKS) {
  test(`every page with runs is accessible in ${look.scheme} at ${look.width} px`, () =>
    through(bench, look, async ({ window, page }) => {
      await rank(page, bench.origin);
      await page.getByRole("button", { name: "What must a part be?" }).click();
      await page.locator("#part-requirement .judged").waitFor(RUN);
      await page.evaluate(() => document.querySelectorAll("details.more").forEach((more) => ((more as HTMLDetailsElement).open = true)));
      await window.clean();
      await window.shot("candidates");
      await page.goto(`${bench.origin}${PLACE}/compare?stage=D1&part=birch-36&part=maple-33`);
      await page.locator("table.beside").waitFor(RUN);
      await window.clean();
      await window.shot("compare");
      await page.goto(`${bench.origin}${PLACE}/compare?of=birch-36`);
      await page.locator("#part-compare h2").waitFor(RUN);
      await window.clean();
      await window.shot("equivalents");
      await page.goto(`${bench.origin}${PLACE}/draws`);
      await page.locator("input[name=draws]").fill("64");
      await page.getByRole("button", { name: "Draw", exact: true }).click();
      await page.locator("#part-draws .judged").waitFor(RUN);
      await page.getByRole("button", { name: "Search the highest levels" }).click();
      await page.locator("#part-levels dl").waitFor(RUN);
      await window.clean();
      await window.shot("draws");
      await page.goto(`${bench.origin}${PLACE}/plan`);
      await page.locator("table.shots").first().waitFor(RUN);
      await window.clean();
      await window.shot("plan");
      await page.goto(`${bench.origin}${PLACE}/report`);
      await page.getByRole("button", { name: "Make the report" }).click();
      await page.locator("ol.contents").waitFor(RUN);
      await window.clean();
      await window.shot("report");
    }));
}
