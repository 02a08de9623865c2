"use strict";
(() => {
  // src/request.ts
  var Refused = class extends Error {
    constructor(status, fault, body) {
      super(fault.message);
      this.status = status;
      this.fault = fault;
      this.body = body;
    }
    status;
    fault;
    body;
  };
  var token = () => document.querySelector('meta[name="tidewall-token"]')?.content ?? "";
  async function ask(address2, init) {
    let response;
    try {
      response = await fetch(address2, { credentials: "same-origin", redirect: "error", ...init });
    } catch (error) {
      if (error instanceof DOMException && error.name === "AbortError") throw error;
      throw new Refused(0, { message: "the workbench does not answer", hint: "is `tidewall open` still running?" }, null);
    }
    if (response.ok) return response;
    const body = await response.json().catch(() => null);
    const fault = body?.error;
    throw new Refused(response.status, fault ?? { message: `the workbench answered ${response.status}` }, body);
  }
  async function fragment(address2, signal) {
    const response = await ask(address2, { headers: { accept: "text/vnd.tidewall.fragment" }, ...signal ? { signal } : {} });
    return response.text();
  }
  async function read(address2) {
    const response = await ask(address2, { headers: { accept: "application/json" } });
    return await response.json();
  }
  async function send(address2, body, signal) {
    const response = await ask(address2, {
      method: "POST",
      headers: {
        accept: "application/json",
        "content-type": "application/json",
        "x-tidewall-token": token()
      },
      body: JSON.stringify(body),
      ...signal ? { signal } : {}
    });
    return await response.json();
  }
  async function upload(address2, file) {
    const response = await ask(address2, {
      method: "POST",
      headers: {
        accept: "application/json",
        "content-type": "application/octet-stream",
        "x-tidewall-token": token()
      },
      body: file
    });
    return await response.json();
  }

  // src/status.ts
  var forget;
  function say(text, kind = "note") {
    const line = document.getElementById("status");
    if (!line) return;
    window.clearTimeout(forget);
    line.textContent = text;
    line.className = kind;
    if (kind === "note") {
      forget = window.setTimeout(() => {
        line.textContent = "";
        line.className = "";
      }, 4e3);
    }
  }
  function explain(error) {
    if (error instanceof DOMException && error.name === "AbortError") return;
    const fault = error.fault;
    if (!fault) {
      say(String(error), "error");
      return;
    }
    const expected = fault.expected ? ` Expected: ${fault.expected}.` : "";
    const hint = fault.hint ? ` ${fault.hint}` : "";
    say(`${fault.message}.${expected}${hint}`, "error");
  }

  // src/forms.ts
  function byId(id) {
    return document.getElementById(id);
  }
  function textOf(id) {
    return byId(id)?.value ?? "";
  }
  function ticked(id) {
    return byId(id)?.checked ?? false;
  }
  function onSubmit(id, act2) {
    const form = byId(id);
    form?.addEventListener("submit", (event) => {
      event.preventDefault();
      const button = event.submitter;
      const buttons = [...form.querySelectorAll("button")];
      const locked = buttons.filter((each) => !each.disabled);
      for (const each of locked) each.disabled = true;
      form.setAttribute("aria-busy", "true");
      void act2(button?.value ?? "").catch(explain).finally(() => {
        form.removeAttribute("aria-busy");
        for (const each of locked) each.disabled = false;
        button?.focus({ preventScroll: true });
      });
    });
  }
  async function answer(address2, body, target) {
    const place3 = byId(target);
    if (!place3) return false;
    place3.setAttribute("aria-busy", "true");
    try {
      const { html } = await send(address2, body);
      place3.innerHTML = html;
      return true;
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      place3.replaceChildren(refusal(error));
      return false;
    } finally {
      place3.removeAttribute("aria-busy");
      place3.scrollIntoView({ block: "nearest" });
    }
  }
  function refusal(error) {
    const { fault } = error;
    const frame = document.createElement("div");
    frame.className = "fault";
    frame.setAttribute("role", "alert");
    const place3 = [
      fault.file ?? "",
      fault.line ? `line ${fault.line}` : "",
      fault.column ? `column ${fault.column}` : ""
    ].filter((piece) => piece !== "");
    const where = place3.length > 0 ? `${place3.join(", ")}: ` : "";
    add(frame, "message", `${where}${fault.message}`);
    if (fault.expected) add(frame, "", `Expected: ${fault.expected}`);
    if (fault.hint) add(frame, "hint", fault.hint);
    return frame;
  }
  function add(frame, kind, text) {
    const line = document.createElement("p");
    line.className = kind;
    line.textContent = text;
    frame.append(line);
  }
  function onFile(id, take) {
    const input = byId(id);
    if (!input) return;
    input.addEventListener("change", () => {
      const file = input.files?.[0];
      if (file) take(file);
    });
    const form = input.closest("[data-drop]");
    form?.addEventListener("dragover", (event) => {
      event.preventDefault();
      form.classList.add("over");
    });
    form?.addEventListener("dragleave", () => form.classList.remove("over"));
    form?.addEventListener("drop", (event) => {
      event.preventDefault();
      form.classList.remove("over");
      const file = event.dataTransfer?.files[0];
      if (!file || !event.dataTransfer) return;
      input.files = event.dataTransfer.files;
      take(file);
    });
  }

  // src/curves.ts
  var LARGEST = 9e5;
  function curves() {
    const choice = byId("curve");
    if (!choice) return;
    let file = "";
    let shown = null;
    const fields = [...document.querySelectorAll("[data-of]")];
    const fits = () => {
      const columns = byId("columns");
      if (columns) columns.textContent = choice.selectedOptions[0]?.dataset["columns"] ?? "";
      for (const field of fields) {
        const of = (field.dataset["of"] ?? "").split(" ");
        field.hidden = !of.includes(choice.value) || field.hasAttribute("data-tlp") && !ticked("tlp");
      }
    };
    choice.addEventListener("change", fits);
    byId("tlp")?.addEventListener("change", fits);
    fits();
    onFile("points-file", (chosen2) => {
      if (chosen2.size > LARGEST) {
        say(`${chosen2.name} is too large for this page: use tidewall extract fit.`, "error");
        return;
      }
      void chosen2.text().then((text) => {
        const area = byId("points");
        if (area) area.value = text;
        file = chosen2.name;
      });
    });
    byId("points")?.addEventListener("input", () => file = "");
    const measured = () => {
      const known = {};
      for (const field of fields) {
        const input = field.querySelector("[data-known]");
        if (!field.hidden && input) known[input.dataset["known"] ?? ""] = input.value;
      }
      return {
        file,
        text: textOf("points"),
        curve: choice.value,
        known,
        robust: ticked("robust"),
        tlp: ticked("tlp")
      };
    };
    onSubmit("fit-points", async () => {
      const asked2 = measured();
      shown = null;
      if (!await answer("/api/curves/fit", asked2, "fitted")) return;
      shown = asked2;
      onSubmit("keep-fit", async () => {
        const kept = document.createElement("div");
        kept.id = "kept";
        byId("kept")?.remove();
        byId("keep-fit")?.after(kept);
        await answer(
          "/api/curves/keep",
          { measured: shown, part: textOf("keep-part"), document: textOf("keep-document") },
          "kept"
        );
      });
    });
  }

  // src/conflict.ts
  var AROUND = 2;
  var MOST_PAIRS = 4e6;
  function differences(left, right) {
    const a = left.split("\n");
    const b = right.split("\n");
    let start = 0;
    while (start < a.length && start < b.length && a[start] === b[start]) start += 1;
    let end = 0;
    while (end < a.length - start && end < b.length - start && a[a.length - 1 - end] === b[b.length - 1 - end]) end += 1;
    const equal = (lines2) => lines2.map((line) => ({ sign: " ", line }));
    return folded([
      ...equal(a.slice(0, start)),
      ...middle(a.slice(start, a.length - end), b.slice(start, b.length - end)),
      ...equal(a.slice(a.length - end))
    ]);
  }
  function middle(a, b) {
    const wide = b.length + 1;
    if (a.length * b.length > MOST_PAIRS) {
      return [...a.map((line) => ({ sign: "-", line })), ...b.map((line) => ({ sign: "+", line }))];
    }
    const common = new Uint32Array((a.length + 1) * wide);
    const at = (i2, j2) => common[i2 * wide + j2] ?? 0;
    for (let i2 = a.length - 1; i2 >= 0; i2 -= 1) {
      for (let j2 = b.length - 1; j2 >= 0; j2 -= 1) {
        common[i2 * wide + j2] = a[i2] === b[j2] ? at(i2 + 1, j2 + 1) + 1 : Math.max(at(i2 + 1, j2), at(i2, j2 + 1));
      }
    }
    const lines2 = [];
    let i = 0;
    let j = 0;
    while (i < a.length || j < b.length) {
      if (i < a.length && j < b.length && a[i] === b[j]) {
        lines2.push({ sign: " ", line: a[i] ?? "" });
        i += 1;
        j += 1;
      } else if (j >= b.length || i < a.length && at(i + 1, j) >= at(i, j + 1)) {
        lines2.push({ sign: "-", line: a[i] ?? "" });
        i += 1;
      } else {
        lines2.push({ sign: "+", line: b[j] ?? "" });
        j += 1;
      }
    }
    return lines2;
  }
  function folded(lines2) {
    const near = (k) => {
      for (let other = k - AROUND; other <= k + AROUND; other += 1) {
        const sign = lines2[other]?.sign;
        if (sign === "-" || sign === "+") return true;
      }
      return false;
    };
    const kept = [];
    lines2.forEach((line, k) => {
      if (near(k)) kept.push(line);
      else if (kept[kept.length - 1]?.sign !== "…") kept.push({ sign: "…", line: "" });
    });
    return kept;
  }
  function element(tag, text = "", className = "") {
    const made = document.createElement(tag);
    made.textContent = text;
    if (className) made.className = className;
    return made;
  }
  async function settle(conflict, body, retry2) {
    const dialog = element("dialog", "", "conflict");
    dialog.setAttribute("aria-labelledby", "conflict-title");
    const title = element("h2", "The study has changed meanwhile");
    title.id = "conflict-title";
    dialog.append(
      title,
      element("p", "Another window or another program has written to this file. Nothing of yours has been written yet, and nothing of theirs is lost.")
    );
    if (conflict.mine !== void 0) {
      dialog.append(element("p", "Lines with + are your text, lines with − the text in the file:"));
      const list = element("pre", "", "difference");
      list.tabIndex = 0;
      for (const { sign, line } of differences(conflict.theirs, conflict.mine)) {
        const kind = sign === "+" ? "came" : sign === "-" ? "went" : "";
        list.append(element("span", `${sign === "-" ? "−" : sign} ${line}
`, kind));
      }
      dialog.append(list);
    }
    const buttons = element("p", "", "buttons");
    const choose2 = (text, choice2, main = false) => {
      const button = element("button", text, main ? "main" : "");
      button.type = "button";
      button.addEventListener("click", () => dialog.close(choice2));
      buttons.append(button);
    };
    if (conflict.fits) choose2("Make my change on their text", "both", true);
    if (conflict.mine !== void 0) choose2("Keep my text", "mine");
    choose2("Keep theirs", "theirs");
    dialog.append(buttons);
    document.body.append(dialog);
    dialog.showModal();
    const choice = await new Promise((resolve) => {
      dialog.addEventListener("close", () => resolve(dialog.returnValue), { once: true });
    });
    dialog.remove();
    if (choice === "both") await retry2(body, conflict.revision);
    else if (choice === "mine" && conflict.mine !== void 0) {
      await retry2({ edits: [{ edit: "text", text: conflict.mine }], label: "keep my text" }, conflict.revision);
    } else {
      document.dispatchEvent(new CustomEvent("tidewall:reload"));
    }
  }

  // src/swap.ts
  var running = /* @__PURE__ */ new Map();
  function focusWithin(part) {
    const active = document.activeElement;
    if (!active || !part.contains(active)) return null;
    if (active.id) return `#${CSS.escape(active.id)}`;
    const key = active.getAttribute("data-key");
    return key ? `[data-key="${CSS.escape(key)}"]` : null;
  }
  function openNotes(part) {
    const texts = /* @__PURE__ */ new Set();
    for (const note of part.querySelectorAll("details[open]")) texts.add(place(note));
    return texts;
  }
  function place(note) {
    const row = note.closest("tr");
    const head = row?.querySelector("th")?.textContent ?? "";
    return `${head}|${note.querySelector("summary")?.textContent ?? ""}`;
  }
  function typing(part) {
    const active = document.activeElement;
    if (!(active instanceof HTMLInputElement) || !part.contains(active) || !active.id) return null;
    if (active.type === "checkbox" || active.value === active.defaultValue) return null;
    return {
      id: active.id,
      value: active.value,
      before: active.defaultValue,
      selection: [active.selectionStart, active.selectionEnd]
    };
  }
  function carry(typed, part) {
    const field = part.querySelector(`#${CSS.escape(typed.id)}`);
    if (field?.defaultValue === typed.before) {
      field.value = typed.value;
      field.focus({ preventScroll: true });
      field.setSelectionRange(...typed.selection);
    } else if (field?.defaultValue !== typed.value) {
      say(`The field that you were writing in has changed meanwhile. You had written: ${typed.value}`, "error");
    }
  }
  function replace(part, markup) {
    const template = document.createElement("template");
    template.innerHTML = markup;
    const fresh = template.content.firstElementChild;
    if (!fresh) return part;
    const focus2 = focusWithin(part);
    const typed = typing(part);
    const open = openNotes(part);
    part.replaceWith(fresh);
    for (const note of fresh.querySelectorAll("details")) {
      if (open.has(place(note))) note.open = true;
    }
    if (focus2) fresh.querySelector(focus2)?.focus({ preventScroll: true });
    if (typed) carry(typed, fresh);
    document.dispatchEvent(new CustomEvent("tidewall:drawn", { detail: fresh }));
    return fresh;
  }
  var waiting = /* @__PURE__ */ new Map();
  function redrawSoon(part, after = 120) {
    const address2 = part.getAttribute("data-part");
    if (!address2 || waiting.has(address2)) return;
    const timer = window.setTimeout(() => {
      waiting.delete(address2);
      const present = document.querySelector(`[data-part="${CSS.escape(address2)}"]`);
      if (present) void redraw(present);
    }, after);
    waiting.set(address2, timer);
  }
  async function redraw(part) {
    const address2 = part.getAttribute("data-part");
    if (!address2) return;
    running.get(address2)?.abort();
    const control = new AbortController();
    running.set(address2, control);
    try {
      const markup = await fragment(address2, control.signal);
      const present = document.querySelector(`[data-part="${CSS.escape(address2)}"]`);
      if (present && !busy(present)) replace(present, markup);
    } catch (error) {
      explain(error);
    } finally {
      if (running.get(address2) === control) running.delete(address2);
    }
  }
  function busy(part) {
    return part.querySelector("[data-editing]") !== null;
  }
  function partsOf(name2) {
    return [...document.querySelectorAll("[data-part]")].filter((part) => {
      const watched = part.getAttribute("data-watch");
      return watched === name2 || watched === "all";
    });
  }

  // src/edit.ts
  var drawn = /* @__PURE__ */ new Map();
  var latest = "";
  var queue = Promise.resolve();
  var sheet = () => document.querySelector("[data-study]");
  var name = () => sheet()?.dataset["study"] ?? "";
  var revision = () => latest || document.querySelector("#part-heading")?.getAttribute("data-revision") || "";
  var address = (what) => `/api/study/${encodeURIComponent(name())}/${what}`;
  function change(edits, label) {
    return post("edit", { edits, label }, label);
  }
  function step(verb) {
    return post(verb, {}, verb);
  }
  function post(what, body, label) {
    queue = queue.then(async () => {
      const started = performance.now();
      try {
        const answer2 = await send(address(what), { ...body, base: revision() });
        show(answer2);
        document.dispatchEvent(new CustomEvent("tidewall:edited", { detail: performance.now() - started }));
        say(`${label}: saved.`);
      } catch (error) {
        if (error instanceof Refused && error.status === 409 && isConflict(error.body)) {
          await settle(error.body.conflict, body, retry);
        } else {
          explain(error);
          restore();
        }
      }
    });
    return queue;
  }
  async function retry(body, base) {
    try {
      show(await send(address("edit"), { ...body, base }));
      say("Saved.");
    } catch (error) {
      explain(error);
      restore();
    }
  }
  function isConflict(body) {
    return typeof body === "object" && body !== null && "conflict" in body;
  }
  function show(answer2) {
    latest = answer2.revision;
    for (const { part, html } of answer2.parts) {
      const present = document.querySelector(`[data-part="${CSS.escape(part)}"]`);
      if (!present) continue;
      const inner = html.replace(/ data-revision="[^"]*"/, "");
      if (busy(present)) continue;
      if (drawn.get(part) === inner) present.setAttribute("data-revision", answer2.revision);
      else replace(present, html);
      drawn.set(part, inner);
    }
  }
  var asked = false;
  function refresh() {
    if (asked) return;
    asked = true;
    queue = queue.then(async () => {
      asked = false;
      try {
        show(await read(address("sheet")));
      } catch (error) {
        explain(error);
      }
    });
  }
  function restore() {
    for (const input of document.querySelectorAll("[data-at]")) {
      if (input instanceof HTMLSelectElement) {
        for (const option of input.options) option.selected = option.defaultSelected;
      } else if (input.type === "checkbox") input.checked = input.defaultChecked;
      else input.value = input.defaultValue;
    }
  }
  document.addEventListener("tidewall:drawn", (event) => {
    const part = event.detail.getAttribute("data-part");
    if (part) drawn.delete(part);
  });

  // src/events.ts
  var source = null;
  var lost = false;
  function follow() {
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "hidden") quiet();
      else if (!source) {
        listen();
        everything();
      }
    });
    window.addEventListener("pagehide", quiet);
    window.addEventListener("pageshow", (event) => {
      if (event.persisted && !source) {
        listen();
        everything();
      }
    });
    if (document.visibilityState !== "hidden") listen();
  }
  function quiet() {
    source?.close();
    source = null;
  }
  function listen() {
    const own = new EventSource("/events");
    source = own;
    own.onmessage = (message) => hear(JSON.parse(message.data));
    own.onerror = () => {
      if (!lost) say("The workbench does not answer. Is `tidewall open` still running?", "error");
      lost = true;
    };
    own.onopen = () => {
      if (!lost && document.querySelector(".verdict.running, progress[data-bar]") === null) return;
      if (lost) say("The workbench answers again.");
      lost = false;
      everything();
    };
  }
  function everything() {
    if (sheet()) refresh();
    else others([...document.querySelectorAll("[data-part]")]);
  }
  function hear(news) {
    switch (news.kind) {
      case "changed":
        if (!onSheet(news.name)) others(partsOf(news.name).filter((part) => part.getAttribute("data-revision") !== news.revision));
        else if (revision() !== news.revision) refresh();
        break;
      case "judged":
        if (onSheet(news.name)) refresh();
        else others(partsOf(news.name));
        break;
      case "files":
        everything();
        break;
      case "progress":
        for (const bar of document.querySelectorAll("progress[data-progress]")) {
          if (bar.dataset["progress"] === news.name) {
            bar.max = Math.max(news.all, 1);
            bar.value = news.done;
          }
        }
        break;
      case "job":
        document.dispatchEvent(new CustomEvent("tidewall:job", { detail: news }));
        break;
      case "ending":
        say("The workbench has ended. What was accepted is in the files.", "error");
        break;
    }
  }
  var onSheet = (name2) => sheet()?.dataset["study"] === name2;
  function others(parts) {
    for (const part of parts) redrawSoon(part, part.getAttribute("data-watch") === "all" ? 600 : 120);
  }

  // src/reading.ts
  function axis(group, name2) {
    const range = group.getAttribute(`data-${name2}-range`)?.split(" ").map(Number);
    const from = range?.[0];
    const to = range?.[1];
    if (from === void 0 || to === void 0 || !Number.isFinite(from) || !Number.isFinite(to)) return null;
    const scale = group.getAttribute(`data-${name2}-scale`) ?? "linear";
    return {
      unit: group.getAttribute(`data-${name2}-unit`) ?? "",
      scale,
      ...ruler(scale, Number(group.getAttribute(`data-${name2}-within`))),
      from,
      to
    };
  }
  function ruler(scale, within) {
    switch (scale) {
      case "log":
        return { forward: Math.log10, back: (place3) => 10 ** place3 };
      case "symlog":
        return {
          forward: (value2) => Math.sign(value2) * Math.log1p(Math.abs(value2) / within) / Math.LN10,
          back: (place3) => Math.sign(place3) * within * Math.expm1(Math.abs(place3) * Math.LN10)
        };
      default:
        return { forward: (value2) => value2, back: (place3) => place3 };
    }
  }
  function panels(svg) {
    const found = [];
    for (const group of svg.querySelectorAll("[data-panel][data-box]")) {
      const [left, top, width, height] = (group.getAttribute("data-box") ?? "").split(" ").map(Number);
      const x = axis(group, "x");
      const y = axis(group, "y");
      if (left === void 0 || top === void 0 || width === void 0 || height === void 0 || !x || !y) continue;
      const box = { left, top, right: left + width, bottom: top + height };
      found.push({ number: Number(group.getAttribute("data-panel")), group, box, x, y });
    }
    return found;
  }
  function place2(axis2, share) {
    const from = axis2.forward(axis2.from);
    return from + share * (axis2.forward(axis2.to) - from);
  }
  function value(axis2, share) {
    return axis2.back(place2(axis2, share));
  }
  var lines = /* @__PURE__ */ new WeakMap();
  function walked(path) {
    const known = lines.get(path);
    if (known) return known;
    const points = [];
    for (const run of (path.getAttribute("d") ?? "").split("M")) {
      const numbers = run.match(/-?[\d.]+/g)?.map(Number) ?? [];
      if (points.length > 0) points.push(Number.NaN, Number.NaN);
      let [x, y] = [0, 0];
      for (let k = 0; k + 1 < numbers.length; k += 2) {
        x += numbers[k];
        y += numbers[k + 1];
        points.push(x, y);
      }
    }
    const made = Float64Array.from(points);
    lines.set(path, made);
    return made;
  }
  function readings(panel, x) {
    const found = [];
    for (const path of panel.group.querySelectorAll("path.tw-series")) {
      const points = walked(path);
      for (let k = 2; k + 1 < points.length; k += 2) {
        const [x0, y0, x1, y1] = [points[k - 2], points[k - 1], points[k], points[k + 1]];
        if (x0 <= x && x <= x1 || x1 <= x && x <= x0) {
          const y = x1 === x0 ? y1 : y0 + (x - x0) / (x1 - x0) * (y1 - y0);
          found.push({ name: path.getAttribute("data-name") ?? "", y });
          break;
        }
      }
    }
    return found;
  }

  // src/words.ts
  var PREFIXES = [
    [1e9, "G"],
    [1e6, "M"],
    [1e3, "k"],
    [1, ""],
    [1e-3, "m"],
    [1e-6, "µ"],
    [1e-9, "n"],
    [1e-12, "p"]
  ];
  function inWords(value2, unit) {
    const size = Math.abs(value2);
    if (size === 0) return `0 ${unit}`;
    const bare = unit === "" || unit === "%" || unit === "°C" || unit === "K";
    const [factor, prefix] = bare ? [1, ""] : PREFIXES.find(([factor2]) => size >= factor2 * 0.9995) ?? [1e-12, "p"];
    const text = String(Number((value2 / factor).toPrecision(3))).replace("-", "−");
    return `${text} ${prefix}${unit}`;
  }

  // src/figures.ts
  var SVG = "http://www.w3.org/2000/svg";
  var views = /* @__PURE__ */ new Map();
  var cursors = /* @__PURE__ */ new WeakMap();
  function figures() {
    document.addEventListener("pointermove", moved);
    document.addEventListener("pointerout", (event) => {
      const svg = picture(event.target);
      if (svg && !svg.contains(event.relatedTarget)) clear(svg);
    });
    document.addEventListener("pointerdown", begun);
    document.addEventListener("dblclick", (event) => {
      const svg = picture(event.target);
      if (svg) void show2(svg, "all");
    });
    document.addEventListener("keydown", pressed);
    document.addEventListener("click", clicked);
    document.addEventListener("tidewall:drawn", (event) => prepare(event.detail));
    prepare(document);
  }
  function prepare(root) {
    for (const tools of root.querySelectorAll(".figure .views, .figure [data-save=png]")) tools.hidden = false;
    for (const svg of root.querySelectorAll(".figure[data-figure] svg")) {
      if ((views.get(svg.id) ?? []).length > 0) void redraw2(svg);
    }
  }
  function picture(target) {
    const svg = target instanceof Element ? target.closest(".figure[data-figure] svg") : null;
    return svg && panels(svg).length > 0 ? svg : null;
  }
  function under(svg, event) {
    const matrix = svg.getScreenCTM()?.inverse();
    if (!matrix) return null;
    const { x, y } = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix);
    const panel = panels(svg).find(({ box }) => x >= box.left && x <= box.right && y >= box.top && y <= box.bottom);
    return panel ? { panel, x, y } : null;
  }
  function moved(event) {
    const svg = picture(event.target);
    if (!svg || dragging) return;
    const at = under(svg, event);
    if (!at) {
      clear(svg);
      return;
    }
    const share = (at.x - at.panel.box.left) / (at.panel.box.right - at.panel.box.left);
    cursors.set(figureOf(svg), { panel: at.panel.number, share });
    mark(svg, at.panel, at.x, at.y);
  }
  var figureOf = (inside) => inside.closest(".figure");
  function mark(svg, panel, x, y) {
    clear(svg);
    const { box } = panel;
    const cursor = document.createElementNS(SVG, "g");
    cursor.setAttribute("class", "cursor");
    cursor.setAttribute("aria-hidden", "true");
    const lines2 = document.createElementNS(SVG, "path");
    lines2.setAttribute("d", `M${x} ${box.top}V${box.bottom}${y === void 0 ? "" : `M${box.left} ${y}H${box.right}`}`);
    cursor.append(lines2);
    const said = [];
    for (const { name: name2, y: height } of readings(panel, x)) {
      said.push(`${name2} ${inWords(value(panel.y, (box.bottom - height) / (box.bottom - box.top)), panel.y.unit)}`);
      const dot = document.createElementNS(SVG, "circle");
      for (const [key, of] of [["cx", x], ["cy", height], ["r", 2.6]]) dot.setAttribute(key, String(of));
      cursor.append(dot);
    }
    svg.append(cursor);
    const across = inWords(value(panel.x, (x - box.left) / (box.right - box.left)), panel.x.unit);
    const up = y === void 0 ? "" : `, ${inWords(value(panel.y, (box.bottom - y) / (box.bottom - box.top)), panel.y.unit)}`;
    const readout = figureOf(svg).querySelector(".readout");
    if (readout) readout.textContent = `${across}${up}${said.length > 0 ? `: ${said.join("; ")}` : ""}`;
  }
  function clear(svg) {
    svg.querySelector(".cursor")?.remove();
    const readout = figureOf(svg).querySelector(".readout");
    if (readout) readout.textContent = "";
  }
  var dragging = false;
  function begun(event) {
    const svg = picture(event.target);
    if (!svg || event.button !== 0 || event.pointerType === "touch") return;
    const from = under(svg, event);
    if (!from) return;
    const { box } = from.panel;
    const frame = document.createElementNS(SVG, "rect");
    frame.setAttribute("class", "chosen");
    const control = new AbortController();
    let to = { x: from.x, y: from.y };
    const within = (value2, low, high) => Math.min(Math.max(value2, low), high);
    const follow3 = (event2) => {
      const matrix = svg.getScreenCTM()?.inverse();
      if (!matrix) return;
      const at = new DOMPoint(event2.clientX, event2.clientY).matrixTransform(matrix);
      to = { x: within(at.x, box.left, box.right), y: within(at.y, box.top, box.bottom) };
      if (Math.abs(to.x - from.x) < 6) return;
      dragging = true;
      clear(svg);
      const tall = Math.abs(to.y - from.y) >= 14;
      frame.setAttribute("x", String(Math.min(from.x, to.x)));
      frame.setAttribute("width", String(Math.abs(to.x - from.x)));
      frame.setAttribute("y", String(tall ? Math.min(from.y, to.y) : box.top));
      frame.setAttribute("height", String(tall ? Math.abs(to.y - from.y) : box.bottom - box.top));
      if (!frame.isConnected) svg.append(frame);
    };
    const done = () => {
      control.abort();
      frame.remove();
      if (!dragging) return;
      dragging = false;
      const across = ends((x) => value(from.panel.x, (x - box.left) / (box.right - box.left)), from.x, to.x);
      const tall = Math.abs(to.y - from.y) >= 14;
      const up = ends((y) => value(from.panel.y, (box.bottom - y) / (box.bottom - box.top)), from.y, to.y);
      change2(svg, from.panel.number, tall ? { x: across, y: up } : { x: across });
    };
    document.addEventListener("pointermove", follow3, { signal: control.signal });
    document.addEventListener("pointerup", done, { signal: control.signal });
    document.addEventListener("pointercancel", done, { signal: control.signal });
    event.preventDefault();
    svg.closest(".picture")?.focus({ preventScroll: true });
  }
  function ends(of, one, other) {
    const [a, b] = [of(one), of(other)];
    return a < b ? [a, b] : [b, a];
  }
  function chosen(svg) {
    const all = panels(svg);
    const cursor = cursors.get(figureOf(svg));
    const panel = all.find(({ number }) => number === cursor?.panel) ?? all[0];
    return panel ? { panel, share: cursor?.share ?? 0.5 } : null;
  }
  async function show2(svg, wish) {
    const at = chosen(svg);
    if (!at) return;
    const { panel, share } = at;
    switch (wish) {
      case "all":
        views.delete(svg.id);
        await redraw2(svg);
        return;
      case "closer":
      case "wider": {
        const factor = wish === "closer" ? 0.5 : 2;
        const [from, to] = [place2(panel.x, 0), place2(panel.x, 1)];
        const middle2 = from + share * (to - from);
        const low = panel.x.back(middle2 - factor * (middle2 - from));
        const high = panel.x.back(middle2 + factor * (to - middle2));
        change2(svg, panel.number, { x: low < high ? [low, high] : [high, low] });
        return;
      }
      case "x-log":
        change2(svg, panel.number, { x_log: panel.x.scale === "linear" });
        return;
      case "y-log":
        change2(svg, panel.number, { y_log: panel.y.scale === "linear" });
    }
  }
  function change2(svg, panel, wish) {
    const all = views.get(svg.id) ?? [];
    const before = all.find((view2) => view2.panel === panel);
    const { y: _, ...rest } = before ?? {};
    const next = { ...wish.x ? rest : before, ...wish, panel };
    if (wish.x_log !== void 0) delete next.x;
    if (wish.y_log !== void 0) delete next.y;
    views.set(svg.id, [...all.filter((view2) => view2 !== before), next]);
    void redraw2(svg);
  }
  var query = (id) => {
    const asked2 = views.get(id) ?? [];
    return asked2.length > 0 ? `?views=${encodeURIComponent(JSON.stringify(asked2))}` : "";
  };
  async function redraw2(svg) {
    const figure = figureOf(svg);
    const { id } = svg;
    const address2 = `/figure/${figure.dataset["figure"] ?? ""}`;
    try {
      const text = await fragment(`${address2}/view${query(id)}`);
      const template = document.createElement("template");
      template.innerHTML = text;
      const fresh = template.content.firstElementChild;
      const present = figure.querySelector("svg");
      if (!(fresh instanceof SVGSVGElement) || !present) return;
      present.replaceWith(fresh);
      figure.querySelector("[data-save=svg]")?.setAttribute("href", `${address2}/picture.svg${query(id)}`);
      const at = chosen(fresh);
      for (const axis2 of ["x", "y"]) {
        const log = at?.panel[axis2].scale !== "linear";
        figure.querySelector(`[data-view=${axis2}-log]`)?.setAttribute("aria-pressed", String(log));
      }
    } catch (error) {
      explain(error);
    }
  }
  function clicked(event) {
    const button = event.target instanceof Element ? event.target.closest(".figure [data-view], .figure [data-save=png]") : null;
    const svg = button ? figureOf(button).querySelector("svg") : null;
    if (!button || !svg) return;
    const wish = button.dataset["view"];
    if (wish) void show2(svg, wish);
    else void save(svg);
  }
  var WISHES = {
    "+": "closer",
    "=": "closer",
    "-": "wider",
    "−": "wider",
    "0": "all",
    l: "y-log",
    L: "x-log"
  };
  function pressed(event) {
    const focus2 = event.target;
    if (!(focus2 instanceof HTMLElement) || !focus2.matches(".figure .picture") || event.ctrlKey || event.metaKey || event.altKey) return;
    const svg = picture(focus2.querySelector("svg"));
    const at = svg ? chosen(svg) : null;
    if (!svg || !at) return;
    const wish = WISHES[event.key];
    if (wish) {
      event.preventDefault();
      void show2(svg, wish);
      return;
    }
    const all = panels(svg);
    const number = all.indexOf(at.panel);
    const step2 = event.shiftKey ? 0.05 : 5e-3;
    const next = { panel: number, share: at.share };
    switch (event.key) {
      case "ArrowLeft":
        next.share -= step2;
        break;
      case "ArrowRight":
        next.share += step2;
        break;
      case "Home":
        next.share = 0;
        break;
      case "End":
        next.share = 1;
        break;
      case "ArrowUp":
        next.panel -= 1;
        break;
      case "ArrowDown":
        next.panel += 1;
        break;
      case "Escape":
        clear(svg);
        return;
      default:
        return;
    }
    event.preventDefault();
    const panel = all[Math.min(Math.max(next.panel, 0), all.length - 1)] ?? at.panel;
    const share = Math.min(Math.max(next.share, 0), 1);
    cursors.set(figureOf(svg), { panel: panel.number, share });
    mark(svg, panel, panel.box.left + share * (panel.box.right - panel.box.left));
  }
  async function save(svg) {
    const copy = svg.cloneNode(true);
    copy.querySelector(".cursor")?.remove();
    const [width, height] = [svg.viewBox.baseVal.width, svg.viewBox.baseVal.height];
    copy.setAttribute("width", String(2 * width));
    copy.setAttribute("height", String(2 * height));
    const image = new Image();
    image.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(new XMLSerializer().serializeToString(copy))}`;
    try {
      await image.decode();
      const canvas = document.createElement("canvas");
      canvas.width = 2 * width;
      canvas.height = 2 * height;
      const paint = canvas.getContext("2d");
      if (!paint) throw new Error("this browser draws no pixels");
      paint.fillStyle = "#fff";
      paint.fillRect(0, 0, canvas.width, canvas.height);
      paint.drawImage(image, 0, 0);
      const link = document.createElement("a");
      link.href = canvas.toDataURL("image/png");
      link.download = `${svg.id}.png`;
      link.click();
    } catch (error) {
      explain(error);
    }
  }

  // src/library.ts
  var LARGEST2 = 64 * 1024 * 1024;
  function library() {
    adding();
    retiring();
    sending();
    importing();
  }
  function adding() {
    let name2 = "";
    onFile("add-file", (file) => {
      name2 = file.name;
      void file.text().then((text) => {
        const area = byId("add-text");
        if (area) area.value = text;
      });
    });
    onSubmit("add-parts", async (pressed3) => {
      await answer("/api/parts/add", { file: name2, text: textOf("add-text"), dry_run: pressed3 !== "add" }, "outcome");
    });
  }
  function retiring() {
    const sure = /* @__PURE__ */ new Set();
    const ask2 = (button, name2) => {
      button.classList.add("sure");
      button.textContent = `Really take ${name2} out? Press again`;
    };
    document.addEventListener("tidewall:drawn", (event) => {
      const part = event.detail;
      for (const button of part.querySelectorAll("button[data-retire]")) {
        const name2 = button.dataset["retire"];
        if (name2 !== void 0 && sure.has(name2)) ask2(button, name2);
      }
    });
    document.addEventListener("click", (event) => {
      const button = event.target.closest("button[data-retire]");
      const name2 = button?.dataset["retire"];
      if (!button || name2 === void 0) return;
      if (!sure.has(name2)) {
        sure.add(name2);
        ask2(button, name2);
        return;
      }
      sure.delete(name2);
      send("/api/parts/retire", { name: name2 }).then(() => say(`${name2} is out of the library; its history stays.`), explain);
    });
  }
  function sending() {
    const form = byId("send-table");
    onFile("table", () => form?.requestSubmit());
    onSubmit("send-table", async () => {
      const file = byId("table")?.files?.[0];
      if (!file) {
        say("Choose a table first.", "error");
        return;
      }
      if (file.size > LARGEST2) {
        say(`${file.name} is larger than 64 MB: use tidewall parts import, which has no limit.`, "error");
        return;
      }
      say(`Sending ${file.name} …`);
      const { address: address2 } = await upload(`/api/import?name=${encodeURIComponent(file.name)}`, file);
      location.assign(address2);
    });
  }
  function importing() {
    const form = byId("run-import");
    if (!form) return;
    onSubmit("run-import", async (pressed3) => {
      const most = textOf("max-bad").trim();
      if (most !== "" && !/^\d{1,9}$/.test(most)) {
        say("The most bad rows is a whole number, or empty for half of the rows.", "error");
        return;
      }
      await answer(
        `/api/import/${form.dataset["table"] ?? ""}`,
        {
          mapping: textOf("mapping"),
          dry_run: pressed3 !== "import",
          max_bad: most === "" ? null : Number(most),
          sheet: form.dataset["sheet"] ?? null
        },
        "outcome"
      );
    });
  }

  // src/notes.ts
  function notes() {
    document.addEventListener("keydown", (event) => {
      if (event.key !== "Escape" || event.defaultPrevented) return;
      const open = [...document.querySelectorAll("details.asked[open]")];
      const own = open.filter((note2) => note2.contains(document.activeElement)).at(-1);
      const idle = document.activeElement === document.body || document.activeElement === null;
      const note = own ?? (idle ? open.at(-1) : void 0);
      if (!note) return;
      note.open = false;
      note.querySelector("summary")?.focus({ preventScroll: true });
    });
  }

  // src/runs.ts
  var over = /* @__PURE__ */ new Set();
  function runs() {
    document.addEventListener("submit", (event) => {
      const form = event.target;
      if (!(form instanceof HTMLFormElement)) return;
      if (form.dataset["start"]) {
        event.preventDefault();
        void begin(form, event.submitter);
      } else if (form.dataset["view"]) {
        event.preventDefault();
        view(form, event.submitter);
      }
    });
    document.addEventListener("change", (event) => {
      const field = event.target;
      if (!(field instanceof HTMLInputElement || field instanceof HTMLSelectElement)) return;
      if (field.form?.dataset["view"] && field.form.contains(field)) view(field.form, null);
    });
    document.addEventListener("input", (event) => {
      const field = event.target;
      if (field instanceof HTMLInputElement && field.type === "text" && field.form?.dataset["view"]) {
        field.setAttribute("data-editing", "");
      }
    });
    document.addEventListener("focusout", (event) => {
      if (event.target instanceof HTMLElement) event.target.removeAttribute("data-editing");
    });
    document.addEventListener("click", (event) => {
      const button = event.target instanceof Element ? event.target.closest("button") : null;
      if (button?.dataset["stop"]) void stop(button);
      if (button?.dataset["use"]) void use(button);
    });
    document.addEventListener("tidewall:job", (event) => follow2(event.detail));
    document.addEventListener("tidewall:drawn", (event) => catchUp(event.detail));
  }
  function held(form) {
    const held2 = {};
    for (const [name2, value2] of new FormData(form)) {
      if (typeof value2 === "string") (held2[name2] ??= []).push(value2);
    }
    return held2;
  }
  async function begin(form, by) {
    const kind = by instanceof HTMLButtonElement ? by.value : "";
    try {
      const begun2 = await send(`${form.dataset["start"]}/${encodeURIComponent(kind)}`, held(form));
      history.replaceState(null, "", begun2.page);
      await show3(begun2.section, begun2.part);
      document.getElementById(begun2.section)?.scrollIntoView({ block: "nearest" });
    } catch (error) {
      explain(error);
    }
  }
  async function show3(section, address2) {
    const part = document.getElementById(section);
    if (!part) return;
    part.setAttribute("data-part", address2);
    await redraw(part);
  }
  function view(form, by) {
    const section = document.getElementById(form.dataset["view"] ?? "");
    const own = section?.getAttribute("data-part");
    if (!section || !own) return;
    const asked2 = new URLSearchParams();
    for (const [name2, values] of Object.entries(held(form))) {
      for (const value2 of values) if (value2.trim() !== "") asked2.append(name2, value2);
    }
    const before = new URL(own, location.href);
    for (const name2 of ["sort", "top", "rejected"]) {
      const value2 = before.searchParams.get(name2);
      if (value2) asked2.set(name2, value2);
    }
    if (by instanceof HTMLButtonElement && by.name) asked2.set(by.name, by.value);
    const query2 = asked2.size > 0 ? `?${asked2.toString()}` : "";
    for (const field of form.querySelectorAll("[data-editing]")) field.removeAttribute("data-editing");
    history.replaceState(null, "", `${location.pathname}${query2}`);
    section.setAttribute("data-part", `${before.pathname}${query2}`);
    void redraw(section);
  }
  async function stop(button) {
    button.disabled = true;
    try {
      await send(`/api/runs/${button.dataset["stop"]}/stop`, {});
      say("Stopping.");
    } catch (error) {
      button.disabled = false;
      explain(error);
    }
  }
  async function use(button) {
    button.disabled = true;
    const data = button.dataset;
    try {
      await send(data["address"] ?? "", { base: data["base"], run: Number(data["ofRun"]), row: Number(data["use"]) });
      say(`${button.getAttribute("aria-label") ?? "Used"}: done. The sheet has it, and can take it back.`);
    } catch (error) {
      button.disabled = false;
      explain(error);
    }
  }
  function catchUp(part) {
    const bar = part.querySelector("progress[data-bar]");
    if (bar && over.has(bar.dataset["bar"] ?? "")) void redraw(part);
  }
  function follow2(news) {
    const id = String(news.id);
    if (news.ended) {
      over.add(id);
      for (const part of document.querySelectorAll(`[data-run="${id}"]`)) {
        void redraw(part).then(() => say("The run has ended."));
      }
      return;
    }
    for (const bar of document.querySelectorAll(`progress[data-bar="${id}"]`)) {
      if (news.all > 0) {
        bar.max = news.all;
        bar.value = news.done;
      }
    }
    for (const text of document.querySelectorAll(`[data-counted="${id}"]`)) {
      text.textContent = news.all > 0 ? `${news.done} of ${news.all} ` : "";
    }
  }

  // src/studies.ts
  function studies() {
    document.addEventListener("submit", (event) => {
      const form = event.target;
      const data = new FormData(form);
      const read2 = (key) => String(data.get(key) ?? "").trim();
      switch (form.dataset["form"]) {
        case "new":
          event.preventDefault();
          void go("/api/new", { profile: read2("profile"), name: read2("name") });
          break;
        case "copy":
          event.preventDefault();
          void go(`/api/study/${encodeURIComponent(form.dataset["of"] ?? "")}/copy`, { name: read2("name") });
          break;
        case "keep":
          event.preventDefault();
          send("/api/demo/keep", { folder: read2("folder") }).then(
            (kept) => say(`The demo is kept in ${kept.folder}. Open it with: tidewall open ${kept.folder}`, "error"),
            explain
          );
          break;
      }
    });
  }
  async function go(address2, body) {
    try {
      location.assign((await send(address2, body)).address);
    } catch (error) {
      explain(error);
    }
  }

  // src/study.ts
  function edit() {
    document.addEventListener("change", changed);
    document.addEventListener("click", clicked2);
    document.addEventListener("submit", submitted);
    document.addEventListener("reset", (event) => quiet2(event.target));
    document.addEventListener("input", writing);
    document.addEventListener("keydown", pressed2);
    document.addEventListener("tidewall:drawn", (event) => prepare2(event.detail));
    document.addEventListener("tidewall:reload", refresh);
    prepare2(document);
  }
  function fieldEdit(input, at) {
    const form = input.dataset["form"];
    if (form === "truth" && input instanceof HTMLInputElement) {
      return input.checked ? { edit: "set", at, value: true } : { edit: "unset", at };
    }
    const text = input.value.trim();
    if (text === "") {
      const stood = input instanceof HTMLInputElement ? input.defaultValue !== "" : true;
      return stood ? { edit: "unset", at } : null;
    }
    const value2 = form === "whole" && /^-?\d+$/.test(text) ? Number(text) : text;
    return { edit: "set", at, value: value2 };
  }
  function changed(event) {
    const target = event.target;
    if (!sheet() || !(target instanceof HTMLInputElement || target instanceof HTMLSelectElement)) return;
    const { at, more, insertList, atEnd } = target.dataset;
    if (at !== void 0) {
      const made = fieldEdit(target, at);
      const what = target.getAttribute("aria-label") ?? at;
      if (made) void change([made], `${what} ${target.type === "checkbox" ? "" : target.value || "removed"}`.trim());
    } else if (more !== void 0 && target.value) {
      const place3 = `${more}.${target.value}`;
      void change([{ edit: "set", at: place3, value: "" }], `key ${target.value}`).then(() => focus(`f-${place3}`));
    } else if (insertList !== void 0 && target.value) {
      const entry = JSON.parse(target.value);
      void change([{ edit: "insert", list: insertList, at: Number(atEnd), entry }], `new ${insertList}`);
    }
  }
  function clicked2(event) {
    const button = event.target.closest("[data-do]");
    if (button && sheet()) {
      act(button);
      return;
    }
    const place3 = event.target.closest(".schematic [data-stage], .schematic [data-insert]");
    if (place3) choose(place3);
  }
  function act(button) {
    const { do: verb, list = "", from = "0", to = "0", place: place3 = "", value: value2 = "null" } = button.dataset;
    const words = button.getAttribute("aria-label") ?? button.textContent ?? "";
    switch (verb) {
      case "undo":
      case "redo":
        void step(verb);
        break;
      case "move":
        void change([{ edit: "move", list, from: Number(from), to: Number(to) }], words).then(() => {
          const up = Number(to) < Number(from);
          focusKey(`${list}.${to}.${up ? "up" : "down"}`);
        });
        break;
      case "remove":
        void change([{ edit: "remove", list, at: Number(from) }], words);
        break;
      case "unset":
        void change([{ edit: "unset", at: place3 }], words);
        break;
      case "set":
        void change([{ edit: "set", at: place3, value: JSON.parse(value2) }], words);
        break;
    }
  }
  function choose(place3) {
    const { stage, insert } = place3.dataset;
    if (stage !== void 0) {
      const row = document.getElementById(`stage-${stage}`);
      row?.scrollIntoView({ block: "nearest" });
      row?.querySelector("td:nth-child(3) input")?.focus();
    } else if (insert !== void 0) {
      const form = document.querySelector("#add-stage");
      const at = document.querySelector("#stage-at");
      if (!form || !at) return;
      form.open = true;
      at.value = insert;
      form.scrollIntoView({ block: "nearest" });
      document.getElementById("stage-kind")?.focus();
    }
  }
  function submitted(event) {
    const form = event.target;
    if (form.dataset["form"] === "text") {
      event.preventDefault();
      const area = form.querySelector("textarea");
      const plain = area?.value ?? "";
      const text = area?.dataset["ends"] === "crlf" ? plain.replaceAll("\n", "\r\n") : plain;
      quiet2(form);
      void change([{ edit: "text", text }], "text");
    } else if (form.dataset["form"] === "stage") {
      event.preventDefault();
      const data = new FormData(form);
      const read2 = (key) => String(data.get(key) ?? "").trim();
      const entry = stageOf(read2);
      void change([{ edit: "insert", list: "ladder", at: Number(read2("at")), entry }], "new stage").then(() => {
        document.querySelector(`#stage-${read2("at")} td:nth-child(3) input`)?.focus();
      });
    }
  }
  function stageOf(read2) {
    const entry = {};
    const put = (into, key) => {
      if (read2(key) !== "") into[key] = read2(key);
    };
    put(entry, "name");
    switch (read2("kind")) {
      case "shunt":
        entry["shunt"] = read2("part");
        put(entry, "lead");
        break;
      case "series":
        entry["series"] = read2("part");
        break;
      case "capacitor": {
        const inner = {};
        put(inner, "capacitance");
        entry["shunt"] = inner;
        put(entry, "lead");
        break;
      }
      default: {
        const inner = {};
        put(inner, "resistance");
        put(inner, "inductance");
        entry["series"] = inner;
      }
    }
    return entry;
  }
  function writing(event) {
    const target = event.target;
    if (target instanceof HTMLTextAreaElement && target.closest('[data-form="text"]')) target.dataset["editing"] = "";
  }
  function quiet2(form) {
    for (const area of form.querySelectorAll("[data-editing]")) area.removeAttribute("data-editing");
  }
  function pressed2(event) {
    if (!sheet()) return;
    const target = event.target;
    const field = target instanceof HTMLElement && target.matches("[data-at]") ? target : null;
    if (field instanceof HTMLInputElement && event.key === "Escape") {
      field.value = field.defaultValue;
      return;
    }
    if (field instanceof HTMLInputElement && event.key === "Enter") {
      field.blur();
      field.focus({ preventScroll: true });
      event.preventDefault();
      return;
    }
    const place3 = target instanceof SVGElement ? target.closest("[data-stage], [data-insert]") : null;
    if (place3 && (event.key === "Enter" || event.key === " ")) {
      event.preventDefault();
      choose(place3);
      return;
    }
    const inText = target instanceof HTMLElement && target.matches("input:not([type=checkbox]), textarea, select");
    if (!inText && (event.ctrlKey || event.metaKey) && !event.altKey) {
      const key = event.key.toLowerCase();
      if (key === "z" || key === "y") {
        event.preventDefault();
        void step(key === "y" || event.shiftKey ? "redo" : "undo");
      }
    }
  }
  var focus = (id) => document.getElementById(id)?.focus();
  var focusKey = (key) => document.querySelector(`[data-key="${CSS.escape(key)}"]:not(:disabled)`)?.focus();
  function prepare2(root) {
    for (const place3 of root.querySelectorAll(".schematic [data-stage], .schematic [data-insert]")) {
      place3.setAttribute("tabindex", "0");
      place3.setAttribute("role", "button");
      const seen = [...place3.querySelectorAll("text")].map((text) => text.textContent?.trim() ?? "").join(" ");
      const { name: name2 = "", insert } = place3.dataset;
      const label = insert === void 0 ? `${seen || name2}: to the values of the stage` : `${seen} Add a stage at place ${Number(insert) + 1}`;
      place3.setAttribute("aria-label", label.trim());
      place3.closest("svg")?.setAttribute("role", "group");
    }
    const kind = root.querySelector("#stage-kind");
    if (kind) {
      const show4 = () => {
        for (const pair of document.querySelectorAll("#add-stage [data-for]")) {
          pair.hidden = !(pair.dataset["for"] ?? "").split(" ").includes(kind.value);
        }
      };
      kind.addEventListener("change", show4);
      show4();
    }
  }

  // src/main.ts
  follow();
  edit();
  figures();
  notes();
  studies();
  runs();
  library();
  curves();
})();
