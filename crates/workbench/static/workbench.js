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

  // src/runs.ts
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
  }
  function held(form) {
    const held2 = {};
    for (const [name, value] of new FormData(form)) {
      if (typeof value === "string") (held2[name] ??= []).push(value);
    }
    return held2;
  }
  async function begin(form, by) {
    const kind = by instanceof HTMLButtonElement ? by.value : "";
    try {
      const begun = await send(`${form.dataset["start"]}/${encodeURIComponent(kind)}`, held(form));
      history.replaceState(null, "", begun.page);
      await show(begun.section, begun.part);
      document.getElementById(begun.section)?.scrollIntoView({ block: "nearest" });
    } catch (error) {
      explain(error);
    }
  }
  async function show(section, address) {
    const part = document.getElementById(section);
    if (!part) return;
    part.setAttribute("data-part", address);
    await redraw(part);
  }
  function view(form, by) {
    const section = document.getElementById(form.dataset["view"] ?? "");
    const own = section?.getAttribute("data-part");
    if (!section || !own) return;
    const asked = new URLSearchParams();
    for (const [name, values] of Object.entries(held(form))) {
      for (const value of values) if (value.trim() !== "") asked.append(name, value);
    }
    const before = new URL(own, location.href);
    for (const name of ["sort", "top", "rejected"]) {
      const value = before.searchParams.get(name);
      if (value) asked.set(name, value);
    }
    if (by instanceof HTMLButtonElement && by.name) asked.set(by.name, by.value);
    const query = asked.size > 0 ? `?${asked.toString()}` : "";
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
  function follow2(news) {
    const id = String(news.id);
    if (news.ended) {
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

  // src/main.ts
  follow();
  runs();
})();
