// Clients that send a byte now and then: each is given up in time, and the others are served meanwhile.
import assert from "node:assert/strict";

import { attack } from "./harness/browser";
import { Raw } from "./harness/raw";

/** Longer than the server waits for a header (20 s) or a body (15 s). */
const PATIENCE_MS = 40_000;

attack("slow clients are given up, and others are served meanwhile", async (bench) => {
  const { cookie, token } = await bench.keys();
  const host = new URL(bench.origin).host;
  const study = "level-sensor-io-link.toml";
  const before = bench.read(study);
  const head = [
    `POST /api/study/${study}/edit HTTP/1.1`,
    `host: ${host}`,
    `origin: ${bench.origin}`,
    `cookie: ${cookie}`,
    `x-tidewall-token: ${token}`,
    "content-type: application/json",
    "content-length: 1000",
  ].join("\r\n");
  const clients: { raw: Raw; drip: string }[] = [];
  for (let k = 0; k < 60; k += 1) {
    const silent = new Raw(bench);
    clients.push({ raw: silent, drip: "" });
    const header = new Raw(bench);
    await header.send(`GET / HTTP/1.1\r\nhost: ${host}\r\n`);
    clients.push({ raw: header, drip: "a" });
    const body = new Raw(bench);
    await body.send(`${head}\r\n\r\n{`);
    clients.push({ raw: body, drip: " " });
  }
  const dripping = setInterval(() => {
    for (const { raw, drip } of clients) if (drip !== "") void raw.send(drip);
  }, 500);
  try {
    for (let k = 0; k < 10; k += 1) {
      const answer = await fetch(`${bench.origin}/study/${study}/part/port`, { headers: { cookie } });
      assert.equal(answer.status, 200);
      assert.match(await answer.text(), /working voltage/);
    }
    const end = Date.now() + PATIENCE_MS;
    for (const { raw } of clients) assert.ok(await raw.until((it) => it.closed, end - Date.now()), "it was given up");
  } finally {
    clearInterval(dripping);
    for (const { raw } of clients) raw.end();
  }
  const answered = clients.filter(({ raw }) => /^HTTP\/1\.1 408 /.test(raw.received));
  assert.equal(answered.length, 60, "a body that does not come is answered in words");
  assert.equal(bench.read(study), before);
});
