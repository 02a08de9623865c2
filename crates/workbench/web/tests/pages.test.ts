// Every page in both schemes and at the width of a telephone: accessible, light, and from nowhere else.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";

import { Bench } from "./harness/bench";
import { type Look, scene, through } from "./harness/browser";

const LOOKS: Look[] = [
  { scheme: "light", width: 1280 },
  { scheme: "dark", width: 1280 },
  { scheme: "light", width: 390 },
  { scheme: "dark", width: 390 },
  // Where figures stand beside the fields.
  { scheme: "light", width: 1900 },
];
const STUDY = "level-sensor-io-link.toml";

/** Name of the picture, and address. */
const PAGES: [string, string][] = [
  ["studies", "/"],
  ["sheet", `/study/${STUDY}`],
  ["candidates", `/study/${STUDY}/candidates`],
  ["compare", `/study/${STUDY}/compare`],
  ["draws", `/study/${STUDY}/draws`],
  ["plan", `/study/${STUDY}/plan`],
  ["measured", `/study/${STUDY}/measured`],
  ["report", `/study/${STUDY}/report`],
  ["parts", "/parts"],
  ["part", "/parts/maple-33"],
  ["parts-add", "/parts-add"],
  ["import", "/import"],
  ["curves", "/curves"],
];

let bench: Bench;
before(async () => {
  bench = await Bench.start([STUDY, "service-usb-c.toml"]);
});
after(() => bench.stop());

for (const look of LOOKS) {
  test(`every page is accessible in ${look.scheme} at ${look.width} px`, () =>
    through(bench, look, async ({ window, page }) => {
      for (const [name, address] of PAGES) {
        await page.goto(bench.origin + address);
        await window.settled();
        await window.clean();
        await window.shot(name);
      }
    }));
}

scene("the first page weighs less than 300 kB", [STUDY], async ({ window }) => {
  await window.settled();
  assert.ok(window.bytes > 10_000, `${window.bytes} bytes: the answers were counted`);
  assert.ok(window.bytes < 300_000, `${window.bytes} bytes`);
});

scene("a page that does not exist says so", [], async ({ window, page, bench }) => {
  window.allow(/404/);
  await page.goto(`${bench.origin}/nowhere`);
  await page.getByRole("heading", { name: "Not there" }).waitFor();
  await window.clean();
});

test("printed pages are in ink on paper, without what only works on a screen", () =>
  through(bench, { scheme: "dark" }, async ({ window, page }) => {
    await page.emulateMedia({ media: "print", colorScheme: "light" });
    for (const [name, address] of PAGES) {
      await page.goto(bench.origin + address);
      await window.settled();
      for (const hidden of [".top nav", "nav.pages", "#status", "button"]) {
        for (const element of await page.locator(hidden).all()) {
          assert.ok(!(await element.isVisible()), `${address}: ${await element.evaluate((it) => it.outerHTML.slice(0, 120))}`);
        }
      }
      await window.shot(`print-${name}`);
    }
  }));
