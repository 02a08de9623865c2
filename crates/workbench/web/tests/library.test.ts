// The parts library in the browser: list, one part, adding, retiring, importing.
import assert from "node:assert/strict";
import { readFileSync, writeFileSync } from "node:fs";

import type { Bench } from "./harness/bench";
import { scene } from "./harness/browser";

/** Names of the parts in the library, as the command line lists them. */
async function names(bench: Bench): Promise<string[]> {
  const list = JSON.parse(await bench.tidewall(["parts", "list", "--format", "json"])) as { parts: { name: string }[] };
  return list.parts.map((part) => part.name);
}

/** A table of invented parts with one bad row at the end. */
async function sample(bench: Bench, rows: number): Promise<string> {
  const path = bench.outside("sample.csv");
  await bench.tidewall(["parts", "sample", path, "--rows", String(rows), "--seed", "3"]);
  return path;
}

scene("a table is looked at, tried and imported", [], async ({ bench, window, page }) => {
  const path = await sample(bench, 40);
  const lines = readFileSync(path, "utf8").trimEnd().split("\n");
  const cells = (lines[5] ?? "").split(",");
  const bad = (lines[0] ?? "").split(",").findIndex((header) => /VRWM|stand/i.test(header));
  assert.ok(bad > 0, `the table has a stand-off voltage: ${lines[0]}`);
  cells[0] = "spoilt-1";
  cells[bad] = "many volts";
  writeFileSync(path, `${lines.join("\n")}\n${cells.join(",")}\n`);
  const before = await names(bench);

  await page.goto(`${bench.origin}/import`);
  await window.clean();
  await window.shot("import");
  await page.getByLabel("Table: choose it").setInputFiles(path);
  await page.waitForURL(/\/import\/\d+$/);
  await page.getByRole("heading", { name: "Import sample.csv" }).waitFor();
  await page.getByRole("row").filter({ hasText: "certain" }).first().waitFor();
  await window.clean();
  await window.shot("import-guess");

  const mapping = page.getByLabel("Which column is which datum");
  await page.getByLabel("values are").selectOption("invented");
  await page.getByRole("button", { name: "Guess again" }).click();
  await page.waitForURL(/kind=invented/);
  assert.match(await mapping.inputValue(), /kind = "invented"/);

  await page.getByRole("button", { name: "Dry run" }).click();
  await page.getByRole("heading", { name: "Dry run" }).waitFor();
  await page.getByText("The good rows would go into the library").waitFor();
  const wrong = page.getByRole("row").filter({ hasText: "spoilt-1" });
  assert.match(await wrong.innerText(), /line 42.*many volts/s);
  assert.deepEqual(await names(bench), before, "a dry run changes nothing");
  await window.clean();
  await window.shot("import-dry-run");

  // None of it, where no bad row is allowed.
  await page.getByLabel("bad rows that are left out").fill("0");
  await page.getByRole("button", { name: "Import", exact: true }).click();
  await page.getByText("Nothing was imported.").waitFor();
  assert.deepEqual(await names(bench), before);

  await page.getByLabel("bad rows that are left out").fill("");
  await page.getByRole("button", { name: "Import", exact: true }).click();
  await page.getByText("The good rows are in the library").waitFor();
  const after = await names(bench);
  assert.equal(after.length, before.length + 40);
  assert.ok(!after.includes("spoilt-1"));

  await page.getByRole("link", { name: "To the parts" }).click();
  await page.getByText(`${after.length} parts.`).waitFor();
  await page.getByLabel("family").selectOption("varistor");
  await page.getByRole("button", { name: "Show" }).click();
  await page.waitForURL(/family=varistor/);
  const families = await page.locator("tbody tr td:nth-child(2)").allInnerTexts();
  assert.ok(families.length > 0 && families.every((family) => family === "varistor"), families.join());
  await window.shot("parts");
  await window.clean();
});

scene("a mapping that says nothing is refused with its line", [], async ({ bench, window, page }) => {
  window.allow(/status of 4(22|04)/);
  await page.goto(`${bench.origin}/import`);
  await page.getByLabel("Table: choose it").setInputFiles(await sample(bench, 3));
  await page.waitForURL(/\/import\/\d+$/);
  await page.getByLabel("Which column is which datum").fill('mapping = 1\n\n[constants]\nkind = "firm"\n');
  await page.getByRole("button", { name: "Dry run" }).click();
  const alert = page.getByRole("alert");
  await alert.waitFor();
  assert.match(await alert.innerText(), /line \d+/);
  await page.goto(`${bench.origin}/import/99`);
  await page.getByText("no longer kept").waitFor();
});

scene("a file that is no table is refused in words", [], async ({ bench, page }) => {
  await page.goto(`${bench.origin}/import`);
  const path = bench.outside("picture.png");
  writeFileSync(path, Buffer.from([0x89, 0x50, 0x4e, 0x47, 0, 0, 0, 0, 1, 2, 3]));
  await page.getByLabel("Table: choose it").setInputFiles(path);
  await page.waitForURL(/\/import\/\d+$/);
  assert.match(await page.getByRole("alert").innerText(), /picture\.png/);
});

const PART = `[[part]]
name = "hazel-<i>5</i>"
family = "resistor"
kind = "invented"
source = "invented for a test <script>window.pwned=1</script>"
resistance = "10 Ω"
`;

scene("a part is added, looked at and taken out", [], async ({ bench, window, page }) => {
  window.allow(/status of 404/);
  await page.goto(`${bench.origin}/parts-add`);
  await window.clean();
  await page.getByLabel("or its text").fill(PART.replace(/^name.*$/m, 'name = "hazel"\nnonsense = 1'));
  window.allow(/status of 422/);
  await page.getByRole("button", { name: "Add to the library" }).click();
  assert.match(await page.getByRole("alert").innerText(), /line 3.*nonsense/s);
  await page.getByLabel("or its text").fill(PART);
  await page.getByRole("button", { name: "Dry run" }).click();
  await page.getByText("Nothing was written.").waitFor();
  assert.ok(!(await names(bench)).includes("hazel-<i>5</i>"));
  await page.getByRole("button", { name: "Add to the library" }).click();
  await page.getByRole("link", { name: "hazel-<i>5</i>" }).click();
  await page.getByRole("heading", { name: "hazel-<i>5</i>" }).waitFor();
  const row = page.getByRole("row").filter({ hasText: "10 Ω" }).first();
  assert.match(await row.innerText(), /invented.*<script>window\.pwned=1<\/script>/s);
  assert.ok(!(await page.evaluate(() => "pwned" in globalThis)));
  assert.equal(await page.locator("main i, main script").count(), 0);
  await window.clean();
  await window.shot("part");
  const retire = page.getByRole("button", { name: "Take it out" });
  await retire.click();
  assert.ok((await names(bench)).includes("hazel-<i>5</i>"), "one press does nothing");
  await page.getByRole("button", { name: "Really take" }).click();
  await page.getByText("no longer in the library").waitFor();
  assert.ok(!(await names(bench)).includes("hazel-<i>5</i>"));
  await page.getByRole("row").filter({ hasText: "taken out of the library" }).waitFor();
  await page.goto(`${bench.origin}/parts/nowhere`);
  await page.getByText("there is no part").waitFor();
});

scene("the page of a demonstration part has every datum of the command line", [], async ({ bench, window, page }) => {
  await page.goto(`${bench.origin}/parts`);
  await window.clean();
  const first = page.locator("tbody th a").first();
  const name = await first.innerText();
  await first.click();
  await page.getByRole("heading", { name, exact: true }).waitFor();
  const shown = JSON.parse(await bench.tidewall(["parts", "show", name, "--format", "json"])) as { part: { data: unknown[] } };
  assert.equal(await page.locator("section h2:text('What is stated') + div tbody tr").count(), shown.part.data.length);
  assert.ok((await page.locator("h2:text('History') + div tbody tr").count()) > 0);
  await window.clean();
});

scene("a workbook is imported as the command line imports it", [], async ({ bench, page }) => {
  const [book, other] = [bench.outside("parts.xlsx"), bench.outside("other.sqlite")];
  await bench.tidewall(["parts", "import", await sample(bench, 12), "--accept-guess", "--kind", "invented"]);
  const exported = await names(bench);
  await bench.tidewall(["parts", "export", book]);
  for (const name of exported) await bench.tidewall(["parts", "retire", name]);
  await page.goto(`${bench.origin}/import`);
  await page.getByLabel("Table: choose it").setInputFiles(book);
  await page.waitForURL(/\/import\/\d+$/);
  await page.getByLabel("values are").selectOption("invented");
  await page.getByLabel("sheet of a workbook").fill("nowhere");
  await page.getByRole("button", { name: "Guess again" }).click();
  assert.match(await page.getByRole("alert").innerText(), /no sheet "nowhere".*the sheets are/s);
  await page.getByLabel("sheet of a workbook").fill("parts");
  await page.getByRole("button", { name: "Guess again" }).click();
  await page.waitForURL(/sheet=parts/);
  await page.getByRole("button", { name: "Import", exact: true }).click();
  await page.getByText("Every row is in the library.").waitFor();
  assert.deepEqual(await names(bench), exported);
  await bench.tidewall(["parts", "import", book, "--accept-guess", "--kind", "invented"], other);
  const shown = (library?: string): Promise<string> => bench.tidewall(["parts", "show", exported[0] ?? "", "--format", "json"], library);
  const values = (text: string): unknown[] =>
    (JSON.parse(text) as { part: { data: Record<string, unknown>[] } }).part.data.map(({ source: _, ...datum }) => datum);
  assert.deepEqual(values(await shown()), values(await shown(other)));
});
