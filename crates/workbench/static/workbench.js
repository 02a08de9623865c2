"use strict";
(() => {
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

  // src/main.ts
  follow();
})();
