// The HTML report, opened as a file: no network, accessible in both schemes, whole on paper.
import assert from "node:assert/strict";
import { execFile } from "node:child_process";
import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { promisify } from "node:util";

import { PROGRAM, ROOT } from "./harness/bench";
import { type Look, Window } from "./harness/browser";

const DEMO = join(ROOT, "demo/river-gauge");
/** Words that mean something elsewhere: markup, another direction, no place to break, no glyph. */
const HOSTILE = `<script>alert(1)</script> <img src=x onerror=alert(2)> #panic() שלום \u{1f30a} ${"W".repeat(120)}`;
/** Text width of A4 with margins of 18 mm, in CSS pixels. */
const PAPER = 657;

const place = mkdtempSync(join(tmpdir(), "tidewall-report-"));
after(() => rmSync(place, { recursive: true, force: true }));

/** Writes the report of a study and gives its path. */
async function report(study: string): Promise<string> {
  const name = join(place, study.replace(/\.toml$/, ""));
  const args = ["report", join(place, study), "--as", "html", "--output", name];
  try {
    await promisify(execFile)(PROGRAM, [...args, "--library", join(place, "library.sqlite")]);
  } catch (error) {
    // 1 and 2 are verdicts, not failures.
    const code = (error as { code?: number }).code;
    assert.ok(code === 1 || code === 2, String(error));
  }
  return `${name}.html`;
}

const files: Record<string, string> = {};

before(async () => {
  cpSync(DEMO, place, { recursive: true });
  const text = readFileSync(join(DEMO, "level-sensor-io-link.toml"), "utf8");
  const title = /^title = .*$/m;
  assert.match(text, title);
  writeFileSync(join(place, "hostile.toml"), text.replace(title, () => `title = ${JSON.stringify(HOSTILE)}`));
  for (const name of ["supply-24v", "level-sensor-io-link", "hostile"]) files[name] = await report(`${name}.toml`);
});

async function opened(name: string, look: Look, body: (window: Window) => Promise<void>): Promise<void> {
  const window = await Window.file(files[name] ?? "", look);
  try {
    await body(window);
    window.sound();
  } finally {
    await window.close();
  }
}

for (const scheme of ["light", "dark"] as const) {
  for (const width of [1280, 420]) {
    test(`reports need no network and are accessible, ${scheme}, ${width} px`, async () => {
      for (const name of ["supply-24v", "level-sensor-io-link", "hostile"]) {
        await opened(name, { scheme, width }, async (window) => {
          await window.clean();
          await window.shot(`report-${name}`);
          const figures = await window.page.locator("figure svg").evaluateAll((all) =>
            all.map((svg) => {
              const by = svg.getAttribute("aria-labelledby") ?? svg.getAttribute("aria-describedby") ?? "";
              const words = by.split(" ").map((id) => document.getElementById(id)?.textContent ?? "");
              return [svg.getAttribute("aria-label") ?? "", ...words, svg.querySelector("desc")?.textContent ?? ""].join(" ");
            }),
          );
          assert.ok(figures.length > 5, `${name} has ${figures.length} figures`);
          for (const words of figures) assert.match(words, /\d/, "a figure is told with its numbers");
        });
      }
    });
  }
}

test("hostile words of a study are read as words", async () => {
  await opened("hostile", {}, async (window) => {
    assert.equal(await window.page.locator("script, img[src=x]").count(), 0);
    const heading = await window.page.locator("h1").first().innerText();
    for (const word of HOSTILE.split(" ")) assert.ok(heading.includes(word), `${word} is in the title`);
  });
});

test("reports are black on white and whole on paper", async () => {
  for (const name of ["supply-24v", "hostile"]) {
    await opened(name, { scheme: "dark", width: PAPER }, async (window) => {
      await window.page.emulateMedia({ media: "print", colorScheme: "dark" });
      const [wide, ground, ink] = await window.page.evaluate(() => {
        const style = getComputedStyle(document.body);
        return [document.documentElement.scrollWidth, style.backgroundColor, style.color] as const;
      });
      assert.ok(wide <= PAPER, `${name} is ${wide} px wide on paper of ${PAPER} px`);
      assert.match(ground, /rgb\(255, 255, 255\)|rgba\(0, 0, 0, 0\)/);
      const darkest = Math.max(...(ink.match(/\d+/g) ?? ["255"]).slice(0, 3).map(Number));
      assert.ok(darkest < 64, `text is ${ink}`);
      const printed = await window.page.pdf({ format: "A4", preferCSSPageSize: true });
      const pages = printed.toString("latin1").match(/\/Type\s*\/Page\b(?!s)/g)?.length ?? 0;
      assert.ok(pages >= 8 && pages <= 40, `${name} prints on ${pages} pages`);
    });
  }
});
