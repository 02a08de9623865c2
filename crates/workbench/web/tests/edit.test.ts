// A study edited on its sheet: by fields, by keyboard alone, back and forth, in two windows.
import assert from "node:assert/strict";
import type { Page } from "playwright-core";

import { agrees, row } from "./harness/checks";
import { type Scene, scene, Window } from "./harness/browser";

const STUDY = "level-sensor-io-link.toml";

async function sheet({ bench, window, page }: Scene): Promise<void> {
  await page.goto(`${bench.origin}/study/${STUDY}`);
  await window.settled();
}

/** The sheet in a window that hears no news, and so works on the text that it has seen. */
async function asleep({ bench, page }: Scene): Promise<void> {
  await page.route("**/events", (route) => route.abort());
  await page.goto(`${bench.origin}/study/${STUDY}`);
  await page.locator('[data-at="ladder.1.lead"]').waitFor();
}

/** Waits until the page says that a change is saved, and its assessment is there. */
async function saved({ window, page }: Pick<Scene, "window" | "page">, what: RegExp = /[Ss]aved\.$/): Promise<void> {
  await page.locator("#status").filter({ hasText: what }).waitFor();
  await window.settled();
}

/** Waits until something is true. */
async function until(holds: () => boolean, what: string): Promise<void> {
  for (let k = 0; k < 600; k += 1) {
    if (holds()) return;
    await new Promise((done) => setTimeout(done, 50));
  }
  assert.fail(what);
}

/** Presses a key until an element has the focus. */
async function tabTo(page: Page, selector: string, key = "Tab"): Promise<void> {
  for (let k = 0; k < 400; k += 1) {
    if (await page.evaluate((wanted) => document.activeElement?.matches(wanted) ?? false, selector)) return;
    await page.keyboard.press(key);
  }
  assert.fail(`${selector} cannot be reached by ${key}`);
}

const focused = (page: Page): Promise<string> =>
  page.evaluate(() => `${document.activeElement?.tagName} ${document.activeElement?.id}`);

scene("the lead of a part is changed and the let-through follows, as the command line says", [STUDY], async (it) => {
  const { bench, page } = it;
  await sheet(it);
  const before = await row(page, "let-through-voltage", "esd", "pin");
  await agrees(page, await bench.check(STUDY));
  const lead = page.locator('[data-at="ladder.1.lead"]');
  await lead.fill("12 nH");
  await lead.press("Enter");
  await saved(it);
  assert.match(bench.read(STUDY), /lead = "12 nH"/);
  const after = await row(page, "let-through-voltage", "esd", "pin");
  assert.ok(Number(after.value) > Number(before.value) + 1, `${before.value} V became ${after.value} V`);
  await agrees(page, await bench.check(STUDY));
  assert.equal(await focused(page), "INPUT f-ladder.1.lead", "the field keeps the focus");
  await it.window.clean();
  await it.window.shot("sheet-edited");
});

scene("a value that cannot be read is marked at its field, and the text has it", [STUDY], async (it) => {
  const { bench, page } = it;
  await sheet(it);
  const lead = page.locator('[data-at="ladder.1.lead"]');
  await lead.fill("12 parsecs");
  await lead.press("Enter");
  await saved(it);
  assert.match(bench.read(STUDY), /lead = "12 parsecs"/);
  assert.equal(await lead.getAttribute("aria-invalid"), "true");
  assert.match(await page.locator("#part-ladder .wrong").innerText(), /parsecs/);
  await it.window.clean();
  await it.window.shot("sheet-wrong");
  await lead.fill("0.5 nH");
  await lead.press("Enter");
  await saved(it);
  await page.locator(".judged").waitFor();
  assert.equal(await lead.getAttribute("aria-invalid"), null);
});

scene("a second stage is added with the keyboard alone", [STUDY], async (it) => {
  const { bench, page } = it;
  await sheet(it);
  const stages = (await page.locator("[data-stage-row]").count()) + 1;
  await tabTo(page, "#add-stage > summary");
  await page.keyboard.press("Enter");
  await tabTo(page, "#stage-at");
  await page.keyboard.press("Home");
  await page.keyboard.press("ArrowDown");
  await tabTo(page, "#stage-kind");
  await tabTo(page, "#stage-part");
  await page.keyboard.type("birch-36");
  // A list of suggestions may have opened.
  await page.keyboard.press("Escape");
  await tabTo(page, "#stage-lead");
  await page.keyboard.type("2 nH");
  await tabTo(page, "#stage-name");
  await page.keyboard.type("D2");
  await page.keyboard.press("Enter");
  await saved(it);
  assert.equal(await page.locator("[data-stage-row]").count(), stages);
  const text = bench.read(STUDY);
  assert.match(text, /\[\[ladder\]\]\nname = "D2"\nshunt = "birch-36"\nlead = "2 nH"\n/);
  await agrees(page, await bench.check(STUDY));
  // It is moved with the keyboard, and keeps the focus.
  await tabTo(page, '[data-key="ladder.1.down"]');
  await page.keyboard.press("Enter");
  await saved(it);
  assert.match(await focused(page), /BUTTON/);
  await it.window.shot("sheet-two-stages");
});

scene("undo and redo by keyboard and button go to the byte", [STUDY], async (it) => {
  const { bench, page } = it;
  await sheet(it);
  const texts = [bench.read(STUDY)];
  for (const value of ["2 nH", "3 nH", "4 nH"]) {
    const lead = page.locator('[data-at="ladder.1.lead"]');
    await lead.fill(value);
    await lead.press("Enter");
    await until(() => bench.read(STUDY).includes(`lead = "${value}"`), `${value} is in the file`);
    await saved(it, new RegExp(`${value}: saved`));
    texts.push(bench.read(STUDY));
  }
  assert.equal(new Set(texts).size, 4);
  const settled = async (text: string | undefined): Promise<void> => {
    await page.waitForFunction(
      (wanted) => (document.querySelector<HTMLInputElement>('[data-at="ladder.1.lead"]')?.value ?? "") === wanted,
      /lead = "([^"]*)"/.exec(text ?? "")?.[1] ?? "",
    );
    assert.equal(bench.read(STUDY), text);
  };
  await page.getByRole("button", { name: "Undo" }).click();
  await settled(texts[2]);
  await page.keyboard.press("Control+z");
  await settled(texts[1]);
  await page.keyboard.press("Control+z");
  await settled(texts[0]);
  assert.ok(await page.getByRole("button", { name: "Undo" }).isDisabled());
  await page.locator("main").focus();
  await page.keyboard.press("Control+Shift+z");
  await settled(texts[1]);
  await page.getByRole("button", { name: "Redo" }).click();
  await settled(texts[2]);
});

for (const [choice, expected] of [
  ["Make my change on their text", { title: "Theirs", lead: "9 nH" }],
  ["Keep my text", { title: undefined, lead: "9 nH" }],
  ["Keep theirs", { title: "Theirs", lead: "0.5 nH" }],
] as const) {
  scene(`a window that slept is shown both texts, and: ${choice}`, [STUDY], async (it) => {
    const { bench, window, page } = it;
    window.allow(/status of 409|ERR_FAILED/);
    await asleep(it);
    const own = /^title = "(.*)"$/m.exec(bench.read(STUDY))?.[1];
    const other = await Window.open(bench);
    try {
      await other.page.goto(`${bench.origin}/study/${STUDY}`);
      const title = other.page.locator('[data-at="title"]');
      await title.fill("Theirs");
      await title.press("Enter");
      await saved({ window: other, page: other.page });
      const lead = page.locator('[data-at="ladder.1.lead"]');
      await lead.fill("9 nH");
      await lead.press("Enter");
      const dialog = page.getByRole("dialog", { name: "The study has changed meanwhile" });
      await dialog.waitFor();
      assert.match(bench.read(STUDY), /title = "Theirs"/, "nothing was overwritten");
      assert.equal(
        (await dialog.locator(".came, .went").allInnerTexts()).join("").trim(),
        [`− title = "Theirs"`, `+ title = "${own}"`, `− lead = "0.5 nH"`, `+ lead = "9 nH"`].join("\n"),
        "only what differs is set against each other",
      );
      await window.clean();
      await window.shot("sheet-conflict");
      await dialog.getByRole("button", { name: choice }).press("Enter");
      await dialog.waitFor({ state: "detached" });
      await page.waitForFunction(
        (wanted) => document.querySelector("h1")?.textContent === wanted,
        expected.title ?? own,
      );
      const holds = (line: string): boolean => bench.read(STUDY).includes(line);
      await until(() => holds(`title = "${expected.title ?? own}"`), `the title is ${expected.title ?? own}`);
      await until(() => holds(`lead = "${expected.lead}"`), `the lead is ${expected.lead}`);
      other.sound();
    } finally {
      await other.close();
    }
  });
}

scene("what an editor writes meanwhile is not overwritten by a field", [STUDY], async (it) => {
  const { bench, window, page } = it;
  window.allow(/status of 409|ERR_FAILED/);
  await asleep(it);
  const theirs = `# By an editor.\n${bench.read(STUDY)}`;
  bench.write(STUDY, theirs);
  const lead = page.locator('[data-at="ladder.1.lead"]');
  await lead.fill("9 nH");
  await lead.press("Enter");
  await page.getByRole("dialog").waitFor();
  assert.equal(bench.read(STUDY), theirs);
  await page.getByRole("button", { name: "Make my change on their text" }).click();
  await page.locator("#status").filter({ hasText: "Saved." }).waitFor();
  assert.equal(bench.read(STUDY), theirs.replace(/lead = "0\.5 nH"/, 'lead = "9 nH"'));
});

scene("a field that meets a killed workbench says so, and goes on after a new start", [STUDY], async (it) => {
  const { bench, window, page } = it;
  window.allow(/ERR_|net::|status of 4/);
  await sheet(it);
  const lead = page.locator('[data-at="ladder.1.lead"]');
  await lead.fill("2.5 nH");
  await lead.press("Enter");
  await saved(it);
  await bench.end("SIGKILL");
  await lead.fill("3.5 nH");
  await lead.press("Enter");
  await page.locator("#status").filter({ hasText: "does not answer" }).waitFor();
  assert.match(bench.read(STUDY), /lead = "2\.5 nH"/);
  await bench.run();
  await page.goto(bench.url);
  await sheet(it);
  assert.equal(await lead.inputValue(), "2.5 nH");
  await lead.fill("3.5 nH");
  await lead.press("Enter");
  await saved(it);
  assert.match(bench.read(STUDY), /lead = "3\.5 nH"/);
});
