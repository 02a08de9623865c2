// Script in what a study says, and pages of other origins in the same browser.
import assert from "node:assert/strict";
import { createServer, type Server } from "node:http";
import type { AddressInfo } from "node:net";

import { scene } from "./harness/browser";

const STUDY = "level-sensor-io-link.toml";
/** Each would set `pwned` if it were taken for markup or script. */
const ATTEMPTS = [
  `<script>window.pwned=1</script>`,
  `"><img src=x onerror=window.pwned=1>`,
  `'><svg onload=window.pwned=1>`,
  `</title></textarea><script>window.pwned=1</script>`,
  "javascript:window.pwned=1",
  "{{window.pwned=1}}${window.pwned=1}",
  `<a href="javascript:window.pwned=1">press</a>`,
];

const pwned = (): boolean => "pwned" in globalThis;

scene("script in a study is shown as text", [STUDY], async ({ bench, page }) => {
  const study = bench.read(STUDY);
  let parts = bench.read("parts.toml");
  const part = /\[\[part\]\]\nname = "birch-36"[\s\S]*?(?=\n\[\[part\]\])/.exec(parts)?.[0];
  assert.ok(part, "the part stands in the parts file");
  const names: [string, string][] = ATTEMPTS.map((attempt, number) => [`a'><b id=x>${number}.toml`, attempt]);
  for (const [name, attempt] of names) {
    const named = JSON.stringify(attempt);
    const renamed = study
      .replace(/^title = .*$/m, () => `title = ${named}`)
      .replaceAll('"birch-36"', () => named)
      .replace(/^id = "esd"$/m, () => `id = ${named}`)
      .replace(/^name = "IO-Link.*$/m, () => `name = ${named}`);
    assert.ok(renamed.includes(`shunt = ${named}`) && renamed.includes(`id = ${named}`), renamed);
    parts += `\n${part.replace('"birch-36"', () => named)}`;
    bench.write(name, renamed);
    bench.write(`wrong-${name}`, `title = ${named}\n[port]\nprofile = ${named}\n`);
  }
  bench.write("parts.toml", parts);
  await page.goto(bench.origin);
  for (const [name, attempt] of names) {
    assert.ok((await page.getByText(attempt, { exact: true }).count()) > 0, `${attempt} is in the list`);
    assert.ok((await page.getByText(name, { exact: true }).count()) > 0, `${name} is in the list`);
  }
  assert.ok(!(await page.evaluate(pwned)), "nothing ran in the list");
  for (const [name, attempt] of names) {
    await page.goto(`${bench.origin}/study/${encodeURIComponent(name)}`);
    await page.getByRole("heading", { level: 1 }).filter({ hasText: attempt }).waitFor();
    await page.evaluate(() => document.querySelectorAll("details").forEach((note) => (note.open = true)));
    assert.ok((await page.getByText(attempt, { exact: true }).count()) > 2, `${attempt} is in the sheet`);
    assert.equal(await page.locator("#x, main script, main img").count(), 0);
    assert.ok(!(await page.evaluate(pwned)), `${attempt} did not run`);
    await page.goto(`${bench.origin}/study/${encodeURIComponent(`wrong-${name}`)}`);
    await page.getByText("cannot be read").waitFor();
    assert.ok(!(await page.evaluate(pwned)), `${attempt} did not run`);
  }
});

/** A page of another origin that tries what a page can try. `tried` is called when it is through. */
function foreign(target: string, study: string): Promise<{ server: Server; address: string }> {
  const markup = `<!doctype html><title>elsewhere</title><body><script type="module">
    const target = ${JSON.stringify(target)};
    const edit = target + "/api/study/${study}/edit";
    const body = '{"base":"0","edits":[{"edit":"text","text":"gone"}]}';
    const said = [];
    const attempt = async (name, act) => {
      try { said.push(name + ": " + (await act())); } catch (error) { said.push(name + ": refused"); }
    };
    const loads = (element, attribute, address) => new Promise((done, failed) => {
      element[attribute] = address; element.onload = () => done("loaded"); element.onerror = failed;
      setTimeout(failed, 5000); document.body.append(element);
    });
    await attempt("read", async () => (await fetch(target + "/", { credentials: "include" })).text());
    await attempt("enter", async () => (await fetch(target + "/enter?key=0", { credentials: "include" })).text());
    await attempt("change as JSON", async () => (await fetch(edit, { method: "POST", credentials: "include",
      headers: { "content-type": "application/json" }, body })).text());
    await attempt("change as text", async () => (await fetch(edit, { method: "POST", credentials: "include",
      mode: "no-cors", headers: { "content-type": "text/plain" }, body })).type);
    await attempt("script", () => loads(document.createElement("script"), "src", target + "/static/workbench.js"));
    await attempt("picture", () => loads(document.createElement("img"), "src", target + "/static/icon.svg"));
    await attempt("events", () => new Promise((done, failed) => {
      const source = new EventSource(target + "/events", { withCredentials: true });
      source.onopen = () => done("open"); source.onerror = failed;
    }));
    await attempt("socket", () => new Promise((done, failed) => {
      const socket = new WebSocket(target.replace("http", "ws") + "/events");
      socket.onopen = () => done("open"); socket.onerror = failed;
    }));
    await attempt("beacon", async () => navigator.sendBeacon(edit, new Blob([body], { type: "text/plain" })));
    const form = Object.assign(document.createElement("form"), { action: edit, method: "post", enctype: "text/plain", target: "hidden" });
    const frame = Object.assign(document.createElement("iframe"), { name: "hidden" });
    form.append(Object.assign(document.createElement("input"), { name: body.slice(0, -1) + ',"x":"', value: '"}' }));
    document.body.append(frame, form);
    form.submit();
    const sheet = Object.assign(document.createElement("iframe"), { src: target + "/", name: "sheet" });
    document.body.append(sheet);
    await new Promise((done) => setTimeout(done, 1500));
    window.said = said;
  </script>`;
  const server = createServer((_, answer) => {
    answer.setHeader("content-type", "text/html; charset=utf-8");
    answer.end(markup);
  });
  return new Promise((done) => {
    server.listen(0, "127.0.0.1", () => {
      done({ server, address: `http://127.0.0.1:${(server.address() as AddressInfo).port}/` });
    });
  });
}

scene("a page of another port in the same browser learns and changes nothing", [STUDY], async ({ bench, window, page }) => {
  const before = bench.read(STUDY);
  const { server, address } = await foreign(bench.origin, STUDY);
  try {
    window.visit(new URL(address).origin);
    // What the browser says about every refusal.
    window.allow(/^console: /);
    await page.goto(address);
    await page.waitForFunction(() => "said" in globalThis);
    const said = await page.evaluate(() => (globalThis as unknown as { said: string[] }).said);
    assert.deepEqual(said, [
      "read: refused",
      "enter: refused",
      "change as JSON: refused",
      // A request that a page may send to anywhere and learn nothing of; the beacon likewise.
      "change as text: refused",
      "script: refused",
      "picture: refused",
      "events: refused",
      "socket: refused",
      "beacon: true",
    ]);
    for (const frame of page.frames().slice(1)) {
      const text = await frame.locator("body").innerText().catch(() => "");
      assert.ok(!text.includes("IO-Link"), text);
    }
    assert.equal(bench.read(STUDY), before);
    await page.goto(bench.origin);
    // Followed from elsewhere, the address shows nothing; opened by the user, it does.
    await page.getByText("IO-Link").first().waitFor();
  } finally {
    server.close();
    server.closeAllConnections();
  }
});
