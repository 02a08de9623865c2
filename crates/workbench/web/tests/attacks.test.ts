// What another page, another program or a broken client may try. Each must be refused with a clear answer; nothing is run,
// nothing is lost, and the workbench goes on (`attack` looks).
import assert from "node:assert/strict";
import { mkdirSync, readdirSync, symlinkSync, writeFileSync } from "node:fs";
import { join } from "node:path";

import type { Bench } from "./harness/bench";
import { attack } from "./harness/browser";
import { exchange, Raw, resident } from "./harness/raw";

const STUDY = "level-sensor-io-link.toml";
const EDIT = `/api/study/${STUDY}/edit`;
const MARK = "not-for-you";

/** Lines of a header. */
type Lines = Record<string, string | undefined>;

interface Honest {
  lines: Lines;
  /** Body of a change that would be made. */
  change: string;
}

/** A request as a page of this start sends it, and the revision that the study has. */
async function honest(bench: Bench): Promise<Honest> {
  const { cookie, token } = await bench.keys();
  const sheet = await fetch(`${bench.origin}/study/${STUDY}`, { headers: { cookie } });
  const base = /data-revision="([0-9a-f]{64})"/.exec(await sheet.text())?.[1];
  assert.ok(base, "the sheet says its revision");
  return {
    lines: {
      host: new URL(bench.origin).host,
      origin: bench.origin,
      "sec-fetch-site": "same-origin",
      cookie,
      "x-tidewall-token": token,
      "content-type": "application/json",
      accept: "application/json",
      connection: "close",
    },
    change: JSON.stringify({ base, edits: [{ edit: "set", at: "title", value: MARK }] }),
  };
}

function request(method: string, address: string, lines: Lines, body?: string): string {
  const all: Lines = { ...lines };
  if (body !== undefined && !("content-length" in all) && !("transfer-encoding" in all)) {
    all["content-length"] = String(Buffer.byteLength(body));
  }
  const head = Object.entries(all).filter(([, value]) => value !== undefined);
  return `${method} ${address} HTTP/1.1\r\n${head.map(([name, value]) => `${name}: ${value}\r\n`).join("")}\r\n${body ?? ""}`;
}

attack("the change that attacks try is one that would be made", async (bench) => {
  const { lines, change } = await honest(bench);
  const answer = await exchange(bench, request("POST", EDIT, lines, change));
  assert.equal(answer.status, 200, answer.text);
  assert.ok(bench.read(STUDY).includes(MARK));
});

attack("a foreign host, origin or site changes and learns nothing", async (bench) => {
  const { lines, change } = await honest(bench);
  const before = bench.read(STUDY);
  const foreign: Lines[] = [
    { host: "rebound.example" },
    { host: `rebound.example:${bench.port}` },
    { host: `127.0.0.1:${bench.port + 1}` },
    { host: `127.0.0.1:${bench.port}.rebound.example` },
    { host: "" },
    { origin: "http://elsewhere.example" },
    { origin: "null" },
    { origin: `http://127.0.0.1:${bench.port + 1}` },
    { origin: `https://127.0.0.1:${bench.port}` },
    { "sec-fetch-site": "cross-site" },
    { "sec-fetch-site": "same-site" },
  ];
  for (const line of foreign) {
    for (const text of [
      request("POST", EDIT, { ...lines, ...line }, change),
      request("GET", `/study/${STUDY}`, { ...lines, ...line }),
    ]) {
      const answer = await exchange(bench, text);
      assert.equal(answer.status, 403, `${JSON.stringify(line)}: ${answer.text}`);
      assert.ok(!answer.text.includes("IO-Link"), JSON.stringify(line));
    }
  }
  assert.equal(bench.read(STUDY), before);
});

attack("without key or token nothing is changed", async (bench) => {
  const { lines, change } = await honest(bench);
  const before = bench.read(STUDY);
  const without: [Lines, number][] = [
    [{ cookie: undefined }, 401],
    [{ cookie: `tidewall-${bench.port}=${"0".repeat(48)}` }, 401],
    [{ "x-tidewall-token": undefined }, 403],
    [{ "x-tidewall-token": "0".repeat(48) }, 403],
    [{ origin: undefined }, 403],
    [{ "content-type": "text/plain" }, 415],
    [{ "content-type": "application/x-www-form-urlencoded" }, 415],
    [{ "content-type": "multipart/form-data; boundary=x" }, 415],
  ];
  for (const [line, status] of without) {
    const answer = await exchange(bench, request("POST", EDIT, { ...lines, ...line }, change));
    assert.equal(answer.status, status, `${JSON.stringify(line)}: ${answer.text}`);
    assert.match(answer.text, /"message":"[^"]{10,}/, "the answer says why");
  }
  for (const key of ["", "?key=", "?key=0", `?key=${"0".repeat(48)}`, "?key=%00", "?key=%FF"]) {
    const answer = await exchange(bench, request("GET", `/enter${key}`, { host: lines["host"], connection: "close" }));
    assert.equal(answer.status, 401, key);
    assert.ok(!/set-cookie/i.test(answer.text), key);
  }
  assert.equal(bench.read(STUDY), before);
});

attack("no name leads out of the folder", async (bench) => {
  const secret = `title = "${MARK}"\n[port]\nprofile = "supply-24vdc"\n`;
  writeFileSync(bench.outside("secret.toml"), secret);
  bench.write(".hidden.toml", secret);
  symlinkSync(bench.outside("secret.toml"), join(bench.folder, "linked.toml"));
  symlinkSync(bench.outside("."), join(bench.folder, "up"));
  const { lines } = await honest(bench);
  const full = bench.outside("secret.toml");
  const names = [
    "../secret.toml",
    "..%2Fsecret.toml",
    "%2E%2E%2Fsecret.toml",
    "%2e%2e/secret.toml",
    "..%252Fsecret.toml",
    "..%5Csecret.toml",
    "%2E%2E%5Csecret.toml",
    "..%C0%AFsecret.toml",
    "..%EF%BC%8Fsecret.toml",
    `${encodeURIComponent(full)}`,
    full,
    `%2F${encodeURIComponent(full)}`,
    `file:%2F%2F${encodeURIComponent(full)}`,
    "up%2Fsecret.toml",
    "up/secret.toml",
    "linked.toml",
    ".hidden.toml",
    "%2Ehidden.toml",
    "./.hidden.toml",
    `${STUDY}%2F..%2F..%2Fsecret.toml`,
    "..%2Fsecret.toml%00.toml",
    `${"a%2F..%2F".repeat(2000)}..%2Fsecret.toml`,
    "%",
    "%zz",
    "%2",
  ];
  const places = (name: string): string[] => [
    `/study/${name}`,
    `/study/${name}/part/text`,
    `/static/${name}`,
    `/api/study/${name}/edit`,
    `/${name}`,
  ];
  for (const name of names) {
    for (const place of places(name)) {
      const answer = await exchange(bench, request("GET", place, { ...lines, accept: "text/html" }));
      assert.ok(answer.status >= 400 && answer.status < 500, `${place}: ${answer.status}`);
      assert.ok(!answer.text.includes(MARK), place);
    }
    const change = JSON.stringify({ base: "", edits: [{ edit: "text", text: "gone" }] });
    const answer = await exchange(bench, request("POST", `/api/study/${name}/edit`, lines, change));
    assert.ok(answer.status >= 400 && answer.status < 500, `${name}: ${answer.status}`);
  }
  const list = await exchange(bench, request("GET", "/", { ...lines, accept: "text/html" }));
  assert.equal(list.status, 200);
  assert.ok(!list.text.includes(MARK) && !list.text.includes("hidden") && !list.text.includes("up/"), list.text);
});

attack("a study that names files outside the folder does not show them", async (bench) => {
  writeFileSync(bench.outside("curve.csv"), `temperature (°C),current (µA)\n25,${MARK}\n`);
  mkdirSync(join(bench.folder, "sub"));
  for (const file of ["../curve.csv", bench.outside("curve.csv"), "/etc/passwd"]) {
    bench.write("reads.toml", bench.read(STUDY).replace(/parts\s*=\s*"[^"]*"/, `parts = ${JSON.stringify(file)}`));
    const { lines } = await honest(bench);
    const answer = await exchange(bench, request("GET", "/study/reads.toml", { ...lines, accept: "text/html" }));
    assert.ok(!answer.text.includes(MARK) && !answer.text.includes("root:"), file);
  }
});

for (const chunked of [false, true]) {
  attack(`a gigabyte ${chunked ? "of unknown length" : "of known length"} is refused early, in flat memory`, async (bench) => {
    const { lines } = await honest(bench);
    const before = resident(bench);
    const length = chunked ? { "transfer-encoding": "chunked" } : { "content-length": String(1 << 30) };
    const raw = new Raw(bench);
    await raw.send(request("POST", EDIT, { ...lines, ...length }, ""));
    const piece = Buffer.alloc(1 << 16, 0x20);
    let sent = 0;
    while (sent < 1 << 30 && !raw.received.includes("\r\n\r\n")) {
      const bytes = chunked ? Buffer.concat([Buffer.from("10000\r\n"), piece, Buffer.from("\r\n")]) : piece;
      if (!(await raw.send(bytes))) break;
      sent += piece.length;
    }
    assert.ok(sent < 64 << 20, `${sent} bytes were taken`);
    assert.equal(await raw.status(), 413, raw.received);
    assert.match(raw.received, /larger than 1 MB/);
    raw.end();
    const after = resident(bench);
    if (before !== undefined && after !== undefined) {
      assert.ok(after - before < 48 << 20, `${after - before} bytes more than before`);
    }
  });
}

for (const chunked of [false, true]) {
  attack(`a table of a gigabyte, ${chunked ? "of unknown" : "of known"} length, is refused and leaves no file`, async (bench) => {
    const { lines } = await honest(bench);
    const before = resident(bench);
    const length = chunked ? { "transfer-encoding": "chunked" } : { "content-length": String(1 << 30) };
    const raw = new Raw(bench);
    await raw.send(
      request("POST", "/api/import?name=..%2F..%2Fbig.csv", { ...lines, ...length, "content-type": "application/octet-stream" }, ""),
    );
    const piece = Buffer.alloc(1 << 20, 0x20);
    let sent = 0;
    while (sent < 1 << 30 && !raw.received.includes("\r\n\r\n")) {
      const bytes = chunked ? Buffer.concat([Buffer.from("100000\r\n"), piece, Buffer.from("\r\n")]) : piece;
      if (!(await raw.send(bytes))) break;
      sent += piece.length;
    }
    assert.ok(sent < 128 << 20, `${sent} bytes were taken`);
    assert.equal(await raw.status(), 413, raw.received);
    raw.end();
    assert.deepEqual(readdirSync(bench.temporary), [], "no temporary file is left");
    const after = resident(bench);
    if (before !== undefined && after !== undefined) {
      assert.ok(after - before < 48 << 20, `${after - before} bytes more than before`);
    }
  });
}

attack("a table of another form than bytes, and one without a token, is not taken", async (bench) => {
  const { lines } = await honest(bench);
  for (const [line, status] of [
    [{ "content-type": "text/csv" }, 415],
    [{ "content-type": "multipart/form-data; boundary=x" }, 415],
    [{ "content-type": "application/octet-stream", "x-tidewall-token": undefined }, 403],
    [{ "content-type": "application/octet-stream", origin: "http://elsewhere.example" }, 403],
  ] as [Lines, number][]) {
    const answer = await exchange(bench, request("POST", "/api/import?name=a.csv", { ...lines, ...line }, "a,b\n"));
    assert.equal(answer.status, status, JSON.stringify(line));
  }
});

attack("a header without end is refused", async (bench) => {
  const raw = new Raw(bench);
  await raw.send("GET / HTTP/1.1\r\n");
  let sent = 0;
  while (sent < 4 << 20 && (await raw.send(`x-${sent}: ${"a".repeat(1000)}\r\n`))) {
    sent += 1000;
    if (raw.received !== "") break;
  }
  assert.ok(sent < 4 << 20, `${sent} bytes of header were taken`);
  raw.end();
});

attack("bodies that are no change are refused in words", async (bench) => {
  const { lines, change } = await honest(bench);
  const before = bench.read(STUDY);
  const base = (JSON.parse(change) as { base: string }).base;
  const bodies = [
    "",
    "{",
    "null",
    "[]",
    '"text"',
    "{}",
    change.slice(0, -1),
    `${change}x`,
    `\u0000${change}`,
    "[".repeat(900_000),
    `{"a":`.repeat(150_000),
    JSON.stringify({ base }),
    JSON.stringify({ base, edits: [{ edit: "run", command: "true" }] }),
    JSON.stringify({ base, edits: [{ edit: "set", at: 1, value: 2 }] }),
    JSON.stringify({ base, edits: [{ edit: "set", at: "title", value: null }], extra: 1 }),
    JSON.stringify({ base, edits: [{ edit: "set", at: "title", value: "a" }] }).replace('"a"', '"\\ud800"'),
    JSON.stringify({ base, edits: [{ edit: "remove", list: "ladder", at: -1 }] }),
    JSON.stringify({ base, edits: [{ edit: "remove", list: "ladder", at: 99 }] }),
    JSON.stringify({ base, edits: [{ edit: "set", at: "", value: "a" }] }),
    JSON.stringify({ base, edits: [{ edit: "set", at: "ladder.9999999999999999999.name", value: "a" }] }),
    JSON.stringify({ base: { text: base }, edits: [] }),
  ];
  for (const body of bodies) {
    const answer = await exchange(bench, request("POST", EDIT, lines, body));
    const shown = body.length > 300 ? `${body.slice(0, 80)}…` : body;
    assert.ok(answer.status >= 400 && answer.status < 500, `${shown}: ${answer.status}`);
    assert.match(answer.text, /"message":"[^"]{10,}/, shown);
  }
  assert.equal(bench.read(STUDY), before);
});

attack("requests that two readers could read differently are refused", async (bench) => {
  const { lines, change } = await honest(bench);
  const before = bench.read(STUDY);
  const twice = request("POST", EDIT, { ...lines, "transfer-encoding": "chunked", "content-length": "5" }, "0\r\n\r\n");
  const host = request("GET", "/", lines).replace("\r\n", "\r\nhost: rebound.example\r\n");
  const absolute = request("GET", "http://rebound.example/", lines);
  const token = request("POST", EDIT, lines, change).replace("\r\n", "\r\nx-tidewall-token: 0\r\n");
  for (const text of [twice, host, absolute, token]) {
    const answer = await exchange(bench, text);
    assert.ok(answer.status >= 400 && answer.status < 500, `${text.slice(0, 60)}: ${answer.status}`);
  }
  const nonsense = ["\u0000\u0001\u0002", "PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n", "GET\r\n\r\n", "\u0016\u0003\u0001\u0002\u0000"];
  for (const text of nonsense) {
    const raw = new Raw(bench);
    await raw.send(`${text}\r\n\r\n`);
    assert.ok(await raw.until((it) => it.closed || it.received.includes(" 400 "), 10_000), JSON.stringify(text));
    raw.end();
  }
  assert.equal(bench.read(STUDY), before);
});

attack("other methods and upgrades are refused", async (bench) => {
  const { lines, change } = await honest(bench);
  for (const method of ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "MKCOL", "FROBNICATE"]) {
    const answer = await exchange(bench, request(method, EDIT, lines, change));
    assert.equal(answer.status, 405, method);
    assert.ok(!/access-control-allow/i.test(answer.text), method);
  }
  const upgrade = { connection: "Upgrade", upgrade: "websocket", "sec-websocket-key": "AAAA", "sec-websocket-version": "13" };
  const raw = new Raw(bench);
  await raw.send(request("GET", "/events", { ...lines, ...upgrade }));
  assert.notEqual(await raw.status(), 101);
  raw.end();
});
