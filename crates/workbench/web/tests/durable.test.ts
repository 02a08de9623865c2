// Nothing that was accepted is lost, and nothing that others wrote is overwritten: by another window, another program, a
// killed process.
import assert from "node:assert/strict";
import type { Page } from "playwright-core";

import { scene, Window } from "./harness/browser";

const STUDY = "level-sensor-io-link.toml";

/** What the workbench answered to a change. */
interface Answer {
  status: number;
  revision?: string;
  conflict?: { theirs: string; mine?: string; fits: boolean; revision: string };
}

/** Revision of the sheet that a page shows. */
function revision(page: Page): Promise<string> {
  return page.locator("[data-revision]").first().getAttribute("data-revision").then((text) => text ?? "");
}

/** Asks for a change as the script of a page does. */
function ask(page: Page, verb: "edit" | "undo" | "redo", body: unknown): Promise<Answer> {
  return page.evaluate(
    async ([address, sent]) => {
      const token = document.querySelector<HTMLMetaElement>('meta[name="tidewall-token"]')?.content ?? "";
      const answer = await fetch(address ?? "", {
        method: "POST",
        headers: { "content-type": "application/json", accept: "application/json", "x-tidewall-token": token },
        body: sent ?? "",
      });
      return { ...((await answer.json()) as object), status: answer.status };
    },
    [`/api/study/${STUDY}/${verb}`, JSON.stringify(body)],
  );
}

const lead = (value: string): unknown[] => [{ edit: "set", at: "ladder.1.lead", value }];
const titled = (value: string): unknown[] => [{ edit: "set", at: "title", value }];

scene("a change touches its own value and nothing else; undo and redo go to the byte", [STUDY], async ({ bench, page }) => {
  const before = bench.read(STUDY);
  assert.ok(before.includes("#"), "the study has comments");
  await page.goto(`${bench.origin}/study/${STUDY}`);
  const changed = await ask(page, "edit", { base: await revision(page), edits: lead("3.3 nH") });
  assert.equal(changed.status, 200);
  const after = bench.read(STUDY);
  const lines = before.split("\n");
  const different = after.split("\n").flatMap((line, k) => (line === lines[k] ? [] : [line]));
  assert.equal(different.length, 1, different.join("\n"));
  assert.match(different[0] ?? "", /3\.3 nH/);
  const undone = await ask(page, "undo", { base: changed.revision });
  assert.equal(undone.status, 200);
  assert.equal(bench.read(STUDY), before);
  const redone = await ask(page, "redo", { base: undone.revision });
  assert.equal(redone.status, 200);
  assert.equal(bench.read(STUDY), after);
});

scene("of two windows the second is told, and both texts are there", [STUDY], async ({ bench, window, page }) => {
  window.allow(/status of 409/);
  const address = `${bench.origin}/study/${STUDY}`;
  await page.goto(address);
  const base = await revision(page);
  const other = await Window.open(bench);
  try {
    await other.page.goto(address);
    assert.equal((await ask(other.page, "edit", { base, edits: titled("The other window was here") })).status, 200);
    const mine = await ask(page, "edit", { base, edits: titled("This window was here") });
    assert.equal(mine.status, 409);
    assert.match(mine.conflict?.theirs ?? "", /The other window was here/);
    assert.match(mine.conflict?.mine ?? "", /This window was here/);
    assert.match(bench.read(STUDY), /The other window was here/);
    // The first window has heard of it by itself.
    await page.getByRole("heading", { level: 1, name: "The other window was here" }).waitFor();
    const again = await ask(page, "edit", { base: mine.conflict?.revision, edits: titled("Both agree") });
    assert.equal(again.status, 200);
    await other.page.getByRole("heading", { level: 1, name: "Both agree" }).waitFor();
    other.sound();
  } finally {
    await other.close();
  }
});

scene("a file that another program changed is noticed, and not overwritten", [STUDY], async ({ bench, window, page }) => {
  window.allow(/status of 409/);
  await page.goto(`${bench.origin}/study/${STUDY}`);
  const base = await revision(page);
  const theirs = `# An editor was here.\n${bench.read(STUDY).replace(/^title = .*$/m, 'title = "By an editor"')}`;
  bench.write(STUDY, theirs);
  const answer = await ask(page, "edit", { base, edits: titled("By the workbench") });
  assert.equal(answer.status, 409);
  assert.equal(answer.conflict?.theirs, theirs);
  assert.equal(answer.conflict?.fits, true);
  assert.equal(bench.read(STUDY), theirs);
  await page.getByRole("heading", { level: 1, name: "By an editor" }).waitFor();
  // A text that cannot be read is shown with its line, and comes back when it is mended.
  bench.write(STUDY, theirs.replace("[pin]", "[pin"));
  const alert = page.getByRole("alert");
  await alert.waitFor();
  assert.match(await alert.innerText(), /cannot be read: line \d+/);
  bench.write(STUDY, theirs);
  await page.getByRole("heading", { level: 1, name: "By an editor" }).waitFor();
});

scene("a killed workbench has lost nothing, and pages say that it is gone", [STUDY], async ({ bench, window, page }) => {
  window.allow(/ERR_CONNECTION|ERR_INCOMPLETE|ERR_EMPTY|net::|status of 401/);
  await page.goto(`${bench.origin}/study/${STUDY}`);
  let base = await revision(page);
  let last = "";
  for (let k = 1; k <= 20; k += 1) {
    last = `Change ${k}`;
    const answer = await ask(page, "edit", { base, edits: titled(last) });
    assert.equal(answer.status, 200);
    base = answer.revision ?? "";
  }
  await bench.end("SIGKILL");
  assert.ok(bench.read(STUDY).includes(`title = "${last}"`), "what was accepted is in the file");
  await page.getByText("The workbench does not answer").waitFor();
  await bench.run();
  await page.goto(bench.url);
  await page.goto(`${bench.origin}/study/${STUDY}`);
  await page.getByRole("heading", { level: 1, name: last }).waitFor();
  assert.equal(await revision(page), base);
  assert.equal((await ask(page, "edit", { base, edits: titled("After the start") })).status, 200);
});

scene("a kill in the midst of changes leaves a whole file", [STUDY], async ({ bench, window, page }) => {
  window.allow(/ERR_|net::|status of 4/);
  await page.goto(`${bench.origin}/study/${STUDY}`);
  const rest = bench.read(STUDY).replace(/^title = .*$/m, "");
  const accepted: string[] = [];
  let base = await revision(page);
  const changing = (async () => {
    for (let k = 0; ; k += 1) {
      const title = `Change ${k} ${"x".repeat(2000)}`;
      const answer = await ask(page, "edit", { base, edits: titled(title) }).catch(() => null);
      if (answer?.status !== 200) return;
      accepted.push(title);
      base = answer.revision ?? "";
    }
  })();
  while (accepted.length < 8) await new Promise((done) => setTimeout(done, 5));
  await bench.end("SIGKILL");
  await changing;
  const text = bench.read(STUDY);
  assert.equal(text.replace(/^title = .*$/m, ""), rest, "the rest of the file is whole");
  const title = /^title = "(.*)"$/m.exec(text)?.[1] ?? "";
  const number = Number(/^Change (\d+) x{2000}$/.exec(title)?.[1]);
  assert.ok(number >= accepted.length - 1, `${number} stands in the file, ${accepted.length} were accepted`);
});
