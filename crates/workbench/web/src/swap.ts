// Parts of a page that the server draws anew: every `section[data-part]` names the address of its own markup.
import { fragment } from "./request";
import { explain, say } from "./status";

const running = new Map<string, AbortController>();

/** Which element of a part has the focus, so that it can be given back. */
function focusWithin(part: Element): string | null {
  const active = document.activeElement;
  if (!active || !part.contains(active)) return null;
  if (active.id) return `#${CSS.escape(active.id)}`;
  const key = active.getAttribute("data-key");
  return key ? `[data-key="${CSS.escape(key)}"]` : null;
}

/** Which notes of a part are open, by what is asked. */
function openNotes(part: Element): Set<string> {
  const texts = new Set<string>();
  for (const note of part.querySelectorAll("details[open]")) texts.add(place(note));
  return texts;
}

/** A details element by its row and its summary. */
function place(note: Element): string {
  const row = note.closest("tr");
  const head = row?.querySelector("th")?.textContent ?? "";
  return `${head}|${note.querySelector("summary")?.textContent ?? ""}`;
}

/** What is being typed into a field of a part and has not been sent. */
interface Typing {
  id: string;
  value: string;
  before: string;
  selection: [number | null, number | null];
}

function typing(part: Element): Typing | null {
  const active = document.activeElement;
  if (!(active instanceof HTMLInputElement) || !part.contains(active) || !active.id) return null;
  if (active.type === "checkbox" || active.value === active.defaultValue) return null;
  return {
    id: active.id,
    value: active.value,
    before: active.defaultValue,
    selection: [active.selectionStart, active.selectionEnd],
  };
}

/** Gives the new field what was being typed, if it is still the same field. */
function carry(typed: Typing, part: Element): void {
  const field = part.querySelector<HTMLInputElement>(`#${CSS.escape(typed.id)}`);
  if (field?.defaultValue === typed.before) {
    field.value = typed.value;
    field.focus({ preventScroll: true });
    field.setSelectionRange(...typed.selection);
  } else if (field?.defaultValue !== typed.value) {
    say(`The field that you were writing in has changed meanwhile. You had written: ${typed.value}`, "error");
  }
}

/** Replaces a part by new markup; focus, open notes and what is being typed stay. Returns what stands there now. */
export function replace(part: Element, markup: string): Element {
  const template = document.createElement("template");
  template.innerHTML = markup;
  const fresh = template.content.firstElementChild;
  if (!fresh) return part;
  const focus = focusWithin(part);
  const typed = typing(part);
  const open = openNotes(part);
  part.replaceWith(fresh);
  for (const note of fresh.querySelectorAll("details")) {
    if (open.has(place(note))) note.open = true;
  }
  if (focus) fresh.querySelector<HTMLElement>(focus)?.focus({ preventScroll: true });
  if (typed) carry(typed, fresh);
  document.dispatchEvent(new CustomEvent("tidewall:drawn", { detail: fresh }));
  return fresh;
}

const waiting = new Map<string, number>();

/** Draws a part anew soon, once for all that is asked meanwhile. */
export function redrawSoon(part: Element, after = 120): void {
  const address = part.getAttribute("data-part");
  if (!address || waiting.has(address)) return;
  const timer = window.setTimeout(() => {
    waiting.delete(address);
    const present = document.querySelector(`[data-part="${CSS.escape(address)}"]`);
    if (present) void redraw(present);
  }, after);
  waiting.set(address, timer);
}

/** Draws a part anew; a newer request for the same part ends an older one. */
export async function redraw(part: Element): Promise<void> {
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

/** A part in which somebody is writing is left alone: the change will say that the text has moved. */
export function busy(part: Element): boolean {
  return part.querySelector("[data-editing]") !== null;
}

/** Parts that watch a study; "all" watches every one. */
export function partsOf(name: string): Element[] {
  return [...document.querySelectorAll("[data-part]")].filter((part) => {
    const watched = part.getAttribute("data-watch");
    return watched === name || watched === "all";
  });
}
