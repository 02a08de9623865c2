// Measured points in the browser: fit, refusal, and into the library and a study.
import assert from "node:assert/strict";
import { writeFileSync } from "node:fs";

import { scene } from "./harness/browser";

const SNAPBACK = "current (A),voltage (V)\n0.0001,7\n0.001,9.5\n0.05,8\n1,4.1\n4,4.71\n8,5.5\n12,6.28\n16,7.12\n";
const STUDY = "level-sensor-io-link.toml";

interface Fit {
  estimates: { meaning: string; standing: string; value: number | null }[];
}

scene("a curve is fitted, looked at, saved and used in a study", [STUDY], async ({ bench, window, page }) => {
  const path = bench.outside("rowan.csv");
  writeFileSync(path, SNAPBACK);
  await page.goto(`${bench.origin}/curves`);
  await window.clean();
  await window.shot("curves");
  await page.getByLabel("What was measured").selectOption("snapback");
  assert.match(await page.locator("#columns").innerText(), /^current \(A\), voltage \(V\)$/);
  assert.ok(!(await page.getByLabel("law").isVisible()), "what means nothing for the curve is not asked");
  await page.getByLabel("Points: choose a CSV file").setInputFiles(path);
  await page.waitForFunction(() => (document.querySelector("#points") as HTMLTextAreaElement).value.includes("7.12"));
  await page.getByRole("button", { name: "Fit", exact: true }).click();
  await page.getByRole("heading", { name: "Fit", exact: true }).waitFor();
  const picture = page.locator("figure svg");
  await picture.waitFor();
  assert.ok(((await picture.boundingBox())?.height ?? 0) > 200, "the figure is drawn");

  const fit = JSON.parse(await bench.tidewall(["extract", "fit", "snapback", path, "--format", "json"])) as Fit;
  const rows = page.getByRole("region", { name: "Values" }).locator("tbody tr");
  assert.equal(await rows.count(), fit.estimates.length);
  assert.match((await rows.allInnerTexts()).join("\n"), /200\.3 mΩ\s+195\.8 mΩ\s+204\.8 mΩ/);
  await page.getByText("between trigger and hold").first().waitFor();
  await window.clean();
  await window.shot("curves-fit");

  await page.getByLabel("part", { exact: true }).fill("rowan-5");
  await page.getByLabel("measured on").fill("specimen 3, pulse bench, 2026-11-25");
  await page.getByRole("button", { name: "Save the model" }).click();
  await page.getByText("kept as the new part rowan-5").waitFor();
  await page.getByRole("link", { name: "Look at rowan-5" }).click();
  await page.getByRole("heading", { name: "rowan-5" }).waitFor();
  const data = page.getByRole("region", { name: "Data" }).locator("tbody tr");
  for (const text of await data.allInnerTexts()) assert.match(text, /measured.*specimen 3, pulse bench, 2026-11-25/s);

  // The study takes the part from the library, and page and command line judge it alike.
  bench.write(STUDY, bench.read(STUDY).replace('shunt = "birch-36"', 'shunt = "rowan-5"'));
  await page.goto(`${bench.origin}/study/${STUDY}`);
  await window.settled();
  assert.equal(await page.locator('[data-at="ladder.1.shunt"]').inputValue(), "rowan-5");
  const result = await bench.check(STUDY);
  assert.equal(await page.locator(".judged .verdict").innerText(), result.verdict);
});

scene("what points do not tell is refused in words", [], async ({ bench, window, page }) => {
  window.allow(/status of 4\d\d/);
  await page.goto(`${bench.origin}/curves`);
  const alert = page.getByRole("alert");
  const fit = page.getByRole("button", { name: "Fit", exact: true });
  const cases: [string, string, RegExp][] = [
    ["snapback", "", /empty/],
    ["snapback", "current (A),voltage (V)\n1,2\n", /point/],
    ["snapback", "current (A),voltage (V)\n1,2\n2,x\n3,4\n", /line 3/],
    ["snapback", "amps,volts\n1,2\n", /no column/],
    ["leakage", "temperature (°C),current (µA)\n25,1\n85,8\n", /voltage is missing/],
    ["gas-tube", "slope (V/µs),voltage (V)\n<script>window.pwned=1</script>,2\n", /<script>/],
  ];
  for (const [curve, points, said] of cases) {
    await page.getByLabel("What was measured").selectOption(curve);
    await page.locator("#points").fill(points);
    await page.locator("#fitted").evaluate((place) => place.replaceChildren());
    await fit.click();
    await alert.waitFor();
    assert.match(await alert.innerText(), said);
  }
  assert.ok(!(await page.evaluate(() => "pwned" in globalThis)));
  await window.clean();
  await window.shot("curves-refused");
  // As many points as unknowns: values without intervals, and what to measure.
  await page.getByLabel("What was measured").selectOption("capacitance");
  await page.locator("#points").fill("bias (V),capacitance (pF)\n0,100\n10,40\n");
  await fit.click();
  await page.getByRole("heading", { name: "Fit", exact: true }).waitFor();
  assert.match(await page.locator("#fitted").innerText(), /not (testable|identified)/);
});

scene("the table of a transmission-line-pulse test is read up to the failure", [], async ({ page, bench }) => {
  const rows = Array.from({ length: 12 }, (_, k) => {
    const amps = 0.5 * (k + 1);
    const volts = 4 + 0.5 * amps + 0.001 * ((k + 1) % 3) - 0.001;
    return `${volts},${amps},${k >= 10 ? 5000 : 1}`;
  });
  await page.goto(`${bench.origin}/curves`);
  await page.getByLabel("What was measured").selectOption("snapback-on-branch");
  assert.ok(!(await page.getByLabel("width").isVisible()));
  await page.getByLabel("the table of a transmission-line-pulse test").check();
  assert.ok(await page.getByLabel("width").isVisible(), "the width is asked for such a table alone");
  await page.locator("#points").fill(`Pulse Width,100 ns\nV (V),I (A),Leakage (nA)\n${rows.join("\n")}\n`);
  await page.getByRole("button", { name: "Fit", exact: true }).press("Enter");
  await page.getByRole("heading", { name: "Fit", exact: true }).waitFor();
  const values = await page.getByRole("region", { name: "Values" }).innerText();
  assert.match(values, /(500|499\.\d|500\.\d) mΩ/);
  assert.match(await page.locator("#fitted").innerText(), /10 used/);
});
