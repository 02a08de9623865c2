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
  async function ask(address, init) {
    let response;
    try {
      response = await fetch(address, { credentials: "same-origin", redirect: "error", ...init });
    } catch (error) {
      if (error instanceof DOMException && error.name === "AbortError") throw error;
      throw new Refused(0, { message: "the workbench does not answer", hint: "is `tidewall open` still running?" }, null);
    }
    if (response.ok) return response;
    const body = await response.json().catch(() => null);
    const fault = body?.error;
    throw new Refused(response.status, fault ?? { message: `the workbench answered ${response.status}` }, body);
  }
  async function fragment(address, signal) {
    const response = await ask(address, { headers: { accept: "text/vnd.tidewall.fragment" }, ...signal ? { signal } : {} });
    return response.text();
  }
  async function send(address, body, signal) {
    const response = await ask(address, {
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
  async function upload(address, file) {
    const response = await ask(address, {
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
  function onSubmit(id, act) {
    const form = byId(id);
    form?.addEventListener("submit", (event) => {
      event.preventDefault();
      const button = event.submitter;
      const buttons = [...form.querySelectorAll("button")];
      const locked = buttons.filter((each) => !each.disabled);
      for (const each of locked) each.disabled = true;
      form.setAttribute("aria-busy", "true");
      void act(button?.value ?? "").catch(explain).finally(() => {
        form.removeAttribute("aria-busy");
        for (const each of locked) each.disabled = false;
        button?.focus({ preventScroll: true });
      });
    });
  }
  async function answer(address, body, target) {
    const place2 = byId(target);
    if (!place2) return false;
    place2.setAttribute("aria-busy", "true");
    try {
      const { html } = await send(address, body);
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
      const asked = measured();
      shown = null;
      if (!await answer("/api/curves/fit", asked, "fitted")) return;
      shown = asked;
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
  function replace(part, markup) {
    const template = document.createElement("template");
    template.innerHTML = markup;
    const fresh = template.content.firstElementChild;
    if (!fresh) return part;
    const focus = focusWithin(part);
    const open = openNotes(part);
    part.replaceWith(fresh);
    for (const note of fresh.querySelectorAll("details")) {
      if (open.has(place(note))) note.open = true;
    }
    if (focus) fresh.querySelector(focus)?.focus({ preventScroll: true });
    document.dispatchEvent(new CustomEvent("tidewall:drawn", { detail: fresh }));
    return fresh;
  }
  async function redraw(part) {
    const address = part.getAttribute("data-part");
    if (!address) return;
    running.get(address)?.abort();
    const control = new AbortController();
    running.set(address, control);
    try {
      const markup = await fragment(address, control.signal);
      const present = document.querySelector(`[data-part="${CSS.escape(address)}"]`);
      if (present && !busy(present)) replace(present, markup);
    } catch (error) {
      explain(error);
    } finally {
      if (running.get(address) === control) running.delete(address);
    }
  }
  function busy(part) {
    return part.querySelector("[data-editing]") !== null;
  }
  function partsOf(name) {
    return [...document.querySelectorAll("[data-part]")].filter((part) => {
      const watched = part.getAttribute("data-watch");
      return watched === name || watched === "all";
    });
  }

  // src/events.ts
  function follow() {
    const source = new EventSource("/events");
    let lost = false;
    source.onmessage = (message) => hear(JSON.parse(message.data));
    source.onerror = () => {
      if (!lost) say("The workbench does not answer. Is `tidewall open` still running?", "error");
      lost = true;
    };
    source.onopen = () => {
      if (!lost) return;
      lost = false;
      say("The workbench answers again.");
      for (const part of document.querySelectorAll("[data-part]")) void redraw(part);
    };
    window.addEventListener("pagehide", () => source.close());
  }
  function hear(news) {
    switch (news.kind) {
      case "changed":
        for (const part of partsOf(news.name)) {
          if (part.getAttribute("data-revision") !== news.revision) void redraw(part);
        }
        break;
      case "judged":
        for (const part of partsOf(news.name)) void redraw(part);
        break;
      case "files":
        for (const part of document.querySelectorAll("[data-watch]")) void redraw(part);
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

  // src/library.ts
  var LARGEST2 = 64 * 1024 * 1024;
  function library() {
    adding();
    retiring();
    sending();
    importing();
  }
  function adding() {
    let name = "";
    onFile("add-file", (file) => {
      name = file.name;
      void file.text().then((text) => {
        const area = byId("add-text");
        if (area) area.value = text;
      });
    });
    onSubmit("add-parts", async (pressed) => {
      await answer("/api/parts/add", { file: name, text: textOf("add-text"), dry_run: pressed !== "add" }, "outcome");
    });
  }
  function retiring() {
    document.addEventListener("click", (event) => {
      const button = event.target.closest("button[data-retire]");
      const name = button?.dataset["retire"];
      if (!button || name === void 0) return;
      if (!button.classList.contains("sure")) {
        button.classList.add("sure");
        button.textContent = `Really take ${name} out? Press again`;
        return;
      }
      send("/api/parts/retire", { name }).then(() => say(`${name} is out of the library; its history stays.`), explain);
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
      const { address } = await upload(`/api/import?name=${encodeURIComponent(file.name)}`, file);
      location.assign(address);
    });
  }
  function importing() {
    const form = byId("run-import");
    if (!form) return;
    onSubmit("run-import", async (pressed) => {
      const most = textOf("max-bad").trim();
      if (most !== "" && !/^\d{1,9}$/.test(most)) {
        say("The most bad rows is a whole number, or empty for half of the rows.", "error");
        return;
      }
      await answer(
        `/api/import/${form.dataset["table"] ?? ""}`,
        {
          mapping: textOf("mapping"),
          dry_run: pressed !== "import",
          max_bad: most === "" ? null : Number(most),
          sheet: form.dataset["sheet"] ?? null
        },
        "outcome"
      );
    });
  }

  // src/main.ts
  follow();
  library();
  curves();
})();
