// Two texts set against each other.
import assert from "node:assert/strict";
import { test } from "node:test";

import { differences } from "../src/conflict";

const shown = (left: string, right: string): string =>
  differences(left, right)
    .map(({ sign, line }) => `${sign}${line}`)
    .join("|");

test("only differing lines and their neighbours are shown", () => {
  assert.equal(shown("a\nb\nc\nd\ne\nf\ng\nh", "a\nB\nc\nd\ne\nf\ng\nH"), " a|-b|+B| c| d|…| f| g|-h|+H");
  assert.equal(shown("a\nb", "a\nb"), "…");
  assert.equal(shown("", "x"), "-|+x");
  assert.equal(shown("a\nb\nc", "a\nc"), " a|-b| c");
});

test("what is shown holds both texts, whatever they are", () => {
  let state = 7;
  const random = (below: number): number => {
    state = (state * 1_103_515_245 + 12_345) % 2_147_483_648;
    return Math.floor((state / 2_147_483_648) * below);
  };
  const text = (): string => Array.from({ length: random(9) }, () => "abc"[random(3)]).join("\n");
  for (let k = 0; k < 2000; k += 1) {
    const [left, right] = [text(), text()];
    const lines = differences(left, right);
    // Short texts are shown whole unless they are equal.
    const of = (other: string): string => lines.filter(({ sign }) => sign !== other).map(({ line }) => line).join("\n");
    if (lines.every(({ sign }) => sign !== "…")) {
      assert.equal(of("+"), left);
      assert.equal(of("-"), right);
    }
  }
});
