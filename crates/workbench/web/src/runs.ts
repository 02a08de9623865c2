// Long runs: begun by a form, followed while they go on, stopped; and what they found put into the study.
import { send } from "./request";
import { explain, say } from "./status";
import { redraw } from "./swap";

interface Begun {
  run: number;
  section: string;
  part: string;
  page: string;
}

interface News {
  id: number;
  done: number;
  all: number;
  ended: boolean;
}

/** Runs that have been heard to end. */
const over = new Set<string>();

/** Makes the forms and buttons of runs work, on this page and in what is drawn later. */
export function runs(): void {
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
    // A filter that is being typed is not drawn anew under the hand.
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
  document.addEventListener("tidewall:job", (event) => follow((event as CustomEvent<News>).detail));
  document.addEventListener("tidewall:drawn", (event) => catchUp((event as CustomEvent<Element>).detail));
}

/** What a form holds: names with their values. */
function held(form: HTMLFormElement): Record<string, string[]> {
  const held: Record<string, string[]> = {};
  for (const [name, value] of new FormData(form)) {
    if (typeof value === "string") (held[name] ??= []).push(value);
  }
  return held;
}

async function begin(form: HTMLFormElement, by: HTMLElement | null): Promise<void> {
  const kind = by instanceof HTMLButtonElement ? by.value : "";
  try {
    const begun = await send<Begun>(`${form.dataset["start"]}/${encodeURIComponent(kind)}`, held(form));
    history.replaceState(null, "", begun.page);
    await show(begun.section, begun.part);
    document.getElementById(begun.section)?.scrollIntoView({ block: "nearest" });
  } catch (error) {
    explain(error);
  }
}

/** Draws a section from another address. */
async function show(section: string, address: string): Promise<void> {
  const part = document.getElementById(section);
  if (!part) return;
  part.setAttribute("data-part", address);
  await redraw(part);
}

/** Narrows or sorts what a section shows. */
function view(form: HTMLFormElement, by: HTMLElement | null): void {
  const section = document.getElementById(form.dataset["view"] ?? "");
  const own = section?.getAttribute("data-part");
  if (!section || !own) return;
  const asked = new URLSearchParams();
  for (const [name, values] of Object.entries(held(form))) {
    for (const value of values) if (value.trim() !== "") asked.append(name, value);
  }
  // Order and number of rows stay unless a button says otherwise.
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

async function stop(button: HTMLButtonElement): Promise<void> {
  button.disabled = true;
  try {
    await send(`/api/runs/${button.dataset["stop"]}/stop`, {});
    say("Stopping.");
  } catch (error) {
    button.disabled = false;
    explain(error);
  }
}

async function use(button: HTMLButtonElement): Promise<void> {
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

/** A run may end while the answer that still shows it going on is on its way: nothing would tell of the end again. */
function catchUp(part: Element): void {
  const bar = part.querySelector<HTMLProgressElement>("progress[data-bar]");
  if (bar && over.has(bar.dataset["bar"] ?? "")) void redraw(part);
}

function follow(news: News): void {
  const id = String(news.id);
  if (news.ended) {
    over.add(id);
    for (const part of document.querySelectorAll(`[data-run="${id}"]`)) {
      void redraw(part).then(() => say("The run has ended."));
    }
    return;
  }
  for (const bar of document.querySelectorAll<HTMLProgressElement>(`progress[data-bar="${id}"]`)) {
    if (news.all > 0) {
      bar.max = news.all;
      bar.value = news.done;
    }
  }
  for (const text of document.querySelectorAll(`[data-counted="${id}"]`)) {
    text.textContent = news.all > 0 ? `${news.done} of ${news.all} ` : "";
  }
}
