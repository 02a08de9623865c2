// Tests in a window, and what they share.
import assert from "node:assert/strict";
import { after, test } from "node:test";

import { Bench } from "./bench";
import { closeBrowser, type Look, PATIENCE, type Scene, through } from "./window";

export { type Look, type Scene, through, Window } from "./window";

after(closeBrowser);

/** A test in a window on a workbench of its own. `studies` are those of the demo that it needs. */
export function scene(name: string, studies: string[], body: (scene: Scene) => Promise<void>, look: Look = {}): void {
  test(name, { timeout: 4 * PATIENCE }, async () => {
    const bench = await Bench.start(studies);
    try {
      await through(bench, look, body);
    } finally {
      await bench.stop();
    }
  });
}

/** A test of a workbench without a window. */
export function attack(name: string, body: (bench: Bench) => Promise<void>): void {
  test(name, { timeout: 4 * PATIENCE }, async () => {
    const bench = await Bench.start(["level-sensor-io-link.toml"]);
    try {
      await body(bench);
      assert.ok(bench.alive, "the workbench still runs");
      const { cookie } = await bench.keys();
      const page = await fetch(`${bench.origin}/`, { headers: { cookie, accept: "text/html" } });
      assert.equal(page.status, 200, "the workbench still answers");
    } finally {
      await bench.stop();
    }
  });
}
