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
    const place2 = byId(target);
    if (!place2) return false;
    place2.setAttribute("aria-busy", "true");
    try {
      const { html } = await send(address2, body);
      place2.innerHTML = html;
      return true;
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      place2.replaceChildren(refusal(error));
      return false;
    } finally {
      place2.removeAttribute("aria-busy");
      place2.scrollIntoView({ block: "nearest" });
    }
  }
  function refusal(error) {
    const { fault } = error;
    const frame = document.createElement("div");
    frame.className = "fault";
    frame.setAttribute("role", "alert");
    const place2 = [
      fault.file ?? "",
      fault.line ? `line ${fault.line}` : "",
      fault.column ? `column ${fault.column}` : ""
    ].filter((piece) => piece !== "");
    const where = place2.length > 0 ? `${place2.join(", ")}: ` : "";
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
    onFile("points-file", (chosen) => {
      if (chosen.size > LARGEST) {
        say(`${chosen.name} is too large for this page: use tidewall extract fit.`, "error");
        return;
      }
      void chosen.text().then((text) => {
        const area = byId("points");
        if (area) area.value = text;
        file = chosen.name;
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
    const equal = (lines) => lines.map((line) => ({ sign: " ", line }));
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
    const lines = [];
    let i = 0;
    let j = 0;
    while (i < a.length || j < b.length) {
      if (i < a.length && j < b.length && a[i] === b[j]) {
        lines.push({ sign: " ", line: a[i] ?? "" });
        i += 1;
        j += 1;
      } else if (j >= b.length || i < a.length && at(i + 1, j) >= at(i, j + 1)) {
        lines.push({ sign: "-", line: a[i] ?? "" });
        i += 1;
      } else {
        lines.push({ sign: "+", line: b[j] ?? "" });
        j += 1;
      }
    }
    return lines;
  }
  function folded(lines) {
    const near = (k) => {
      for (let other = k - AROUND; other <= k + AROUND; other += 1) {
        const sign = lines[other]?.sign;
        if (sign === "-" || sign === "+") return true;
      }
      return false;
    };
    const kept = [];
    lines.forEach((line, k) => {
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

  // src/figures.ts
  var SVG = "http://www.w3.org/2000/svg";
  function figures() {
    document.addEventListener("pointermove", (event) => {
      const svg = event.target.closest(".figure svg");
      if (!svg) return;
      const matrix = svg.getScreenCTM()?.inverse();
      if (!matrix) return;
      const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix);
      const panel = panels(svg).find(({ box }) => at.x >= box[0] && at.x <= box[2] && at.y >= box[1] && at.y <= box[3]);
      if (panel) read2(svg, panel, at.x, at.y);
      else clear(svg);
    });
    document.addEventListener("pointerout", (event) => {
      const svg = event.target.closest(".figure svg");
      if (svg && !svg.contains(event.relatedTarget)) clear(svg);
    });
  }
  function axis(group, name2) {
    const range = group.getAttribute(`data-${name2}-range`)?.split(" ").map(Number);
    const from = range?.[0];
    const to = range?.[1];
    if (from === void 0 || to === void 0 || !Number.isFinite(from) || !Number.isFinite(to)) return null;
    return {
      unit: group.getAttribute(`data-${name2}-unit`) ?? "",
      ...ruler(group.getAttribute(`data-${name2}-scale`), Number(group.getAttribute(`data-${name2}-within`))),
      from,
      to
    };
  }
  function ruler(scale, within) {
    switch (scale) {
      case "log":
        return { forward: Math.log10, back: (place2) => 10 ** place2 };
      case "symlog":
        return {
          forward: (value2) => Math.sign(value2) * Math.log1p(Math.abs(value2) / within) / Math.LN10,
          back: (place2) => Math.sign(place2) * within * Math.expm1(Math.abs(place2) * Math.LN10)
        };
      default:
        return { forward: (value2) => value2, back: (place2) => place2 };
    }
  }
  function panels(svg) {
    const found = [];
    for (const group of svg.querySelectorAll("[data-panel][data-box]")) {
      const box = (group.getAttribute("data-box") ?? "").split(" ").map(Number);
      const x = axis(group, "x");
      const y = axis(group, "y");
      const [left, top, right, bottom] = box;
      if (left === void 0 || top === void 0 || right === void 0 || bottom === void 0 || !x || !y) continue;
      const sides = [Math.min(left, right), Math.min(top, bottom), Math.max(left, right), Math.max(top, bottom)];
      found.push({ group, box: sides, x, y });
    }
    return found;
  }
  function value(axis2, share) {
    const from = axis2.forward(axis2.from);
    return axis2.back(from + share * (axis2.forward(axis2.to) - from));
  }
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
  function read2(svg, panel, x, y) {
    const [left, top, right, bottom] = panel.box;
    const across = value(panel.x, (x - left) / (right - left));
    const up = value(panel.y, (bottom - y) / (bottom - top));
    let cursor = svg.querySelector(".cursor");
    if (!cursor) {
      cursor = document.createElementNS(SVG, "g");
      cursor.setAttribute("class", "cursor");
      cursor.setAttribute("aria-hidden", "true");
      cursor.append(document.createElementNS(SVG, "path"), document.createElementNS(SVG, "text"));
      svg.append(cursor);
    }
    cursor.querySelector("path")?.setAttribute("d", `M${x} ${top}V${bottom}M${left} ${y}H${right}`);
    const text = cursor.querySelector("text");
    if (!text) return;
    text.textContent = `${inWords(across, panel.x.unit)}, ${inWords(up, panel.y.unit)}`;
    const late = x > (left + right) / 2;
    text.setAttribute("x", String(late ? x - 6 : x + 6));
    text.setAttribute("y", String(Math.max(y - 6, top + 12)));
    text.setAttribute("text-anchor", late ? "end" : "start");
  }
  function clear(svg) {
    svg.querySelector(".cursor")?.remove();
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
    onSubmit("add-parts", async (pressed2) => {
      await answer("/api/parts/add", { file: name2, text: textOf("add-text"), dry_run: pressed2 !== "add" }, "outcome");
    });
  }
  function retiring() {
    document.addEventListener("click", (event) => {
      const button = event.target.closest("button[data-retire]");
      const name2 = button?.dataset["retire"];
      if (!button || name2 === void 0) return;
      if (!button.classList.contains("sure")) {
        button.classList.add("sure");
        button.textContent = `Really take ${name2} out? Press again`;
        return;
      }
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
    onSubmit("run-import", async (pressed2) => {
      const most = textOf("max-bad").trim();
      if (most !== "" && !/^\d{1,9}$/.test(most)) {
        say("The most bad rows is a whole number, or empty for half of the rows.", "error");
        return;
      }
      await answer(
        `/api/import/${form.dataset["table"] ?? ""}`,
        {
          mapping: textOf("mapping"),
          dry_run: pressed2 !== "import",
          max_bad: most === "" ? null : Number(most),
          sheet: form.dataset["sheet"] ?? null
        },
        "outcome"
      );
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
      const begun = await send(`${form.dataset["start"]}/${encodeURIComponent(kind)}`, held(form));
      history.replaceState(null, "", begun.page);
      await show2(begun.section, begun.part);
      document.getElementById(begun.section)?.scrollIntoView({ block: "nearest" });
    } catch (error) {
      explain(error);
    }
  }
  async function show2(section, address2) {
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
    const query = asked2.size > 0 ? `?${asked2.toString()}` : "";
    for (const field of form.querySelectorAll("[data-editing]")) field.removeAttribute("data-editing");
    history.replaceState(null, "", `${location.pathname}${query}`);
    section.setAttribute("data-part", `${before.pathname}${query}`);
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
      const read3 = (key) => String(data.get(key) ?? "").trim();
      switch (form.dataset["form"]) {
        case "new":
          event.preventDefault();
          void go("/api/new", { profile: read3("profile"), name: read3("name") });
          break;
        case "copy":
          event.preventDefault();
          void go(`/api/study/${encodeURIComponent(form.dataset["of"] ?? "")}/copy`, { name: read3("name") });
          break;
        case "keep":
          event.preventDefault();
          send("/api/demo/keep", { folder: read3("folder") }).then(
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
    document.addEventListener("click", clicked);
    document.addEventListener("submit", submitted);
    document.addEventListener("reset", (event) => quiet2(event.target));
    document.addEventListener("input", writing);
    document.addEventListener("keydown", pressed);
    document.addEventListener("tidewall:drawn", (event) => prepare(event.detail));
    document.addEventListener("tidewall:reload", refresh);
    prepare(document);
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
      const place2 = `${more}.${target.value}`;
      void change([{ edit: "set", at: place2, value: "" }], `key ${target.value}`).then(() => focus(`f-${place2}`));
    } else if (insertList !== void 0 && target.value) {
      const entry = JSON.parse(target.value);
      void change([{ edit: "insert", list: insertList, at: Number(atEnd), entry }], `new ${insertList}`);
    }
  }
  function clicked(event) {
    const button = event.target.closest("[data-do]");
    if (button && sheet()) {
      act(button);
      return;
    }
    const place2 = event.target.closest(".schematic [data-stage], .schematic [data-insert]");
    if (place2) choose(place2);
  }
  function act(button) {
    const { do: verb, list = "", from = "0", to = "0", place: place2 = "", value: value2 = "null" } = button.dataset;
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
        void change([{ edit: "unset", at: place2 }], words);
        break;
      case "set":
        void change([{ edit: "set", at: place2, value: JSON.parse(value2) }], words);
        break;
    }
  }
  function choose(place2) {
    const { stage, insert } = place2.dataset;
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
      const read3 = (key) => String(data.get(key) ?? "").trim();
      const entry = stageOf(read3);
      void change([{ edit: "insert", list: "ladder", at: Number(read3("at")), entry }], "new stage").then(() => {
        document.querySelector(`#stage-${read3("at")} td:nth-child(3) input`)?.focus();
      });
    }
  }
  function stageOf(read3) {
    const entry = {};
    const put = (into, key) => {
      if (read3(key) !== "") into[key] = read3(key);
    };
    put(entry, "name");
    switch (read3("kind")) {
      case "shunt":
        entry["shunt"] = read3("part");
        put(entry, "lead");
        break;
      case "series":
        entry["series"] = read3("part");
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
  function pressed(event) {
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
    const place2 = target instanceof SVGElement ? target.closest("[data-stage], [data-insert]") : null;
    if (place2 && (event.key === "Enter" || event.key === " ")) {
      event.preventDefault();
      choose(place2);
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
  function prepare(root) {
    for (const place2 of root.querySelectorAll(".schematic [data-stage], .schematic [data-insert]")) {
      place2.setAttribute("tabindex", "0");
      place2.setAttribute("role", "button");
      const seen = [...place2.querySelectorAll("text")].map((text) => text.textContent?.trim() ?? "").join(" ");
      const { name: name2 = "", insert } = place2.dataset;
      const label = insert === void 0 ? `${seen || name2}: to the values of the stage` : `${seen} Add a stage at place ${Number(insert) + 1}`;
      place2.setAttribute("aria-label", label.trim());
      place2.closest("svg")?.setAttribute("role", "group");
    }
    const kind = root.querySelector("#stage-kind");
    if (kind) {
      const show3 = () => {
        for (const pair of document.querySelectorAll("#add-stage [data-for]")) {
          pair.hidden = !(pair.dataset["for"] ?? "").split(" ").includes(kind.value);
        }
      };
      kind.addEventListener("change", show3);
      show3();
    }
  }

  // src/main.ts
  follow();
  edit();
  figures();
  studies();
  runs();
  library();
  curves();
})();
