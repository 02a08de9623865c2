// Changes of a study: one queue, so that each is made on what the one before left.
import { settle, type Conflict } from "./conflict";
import { Refused, read, send } from "./request";
import { explain, say } from "./status";
import { busy, replace } from "./swap";

/** A value to be written; tables keep the order of their keys. */
export type Value = string | number | boolean | Value[] | { [key: string]: Value };

/** A change, as `tidewall_desk::edit::Edit` reads it. */
export type Edit =
  | { edit: "set"; at: string; value: Value }
  | { edit: "unset"; at: string }
  | { edit: "insert"; list: string; at: number; entry: { [key: string]: Value } }
  | { edit: "remove"; list: string; at: number }
  | { edit: "move"; list: string; from: number; to: number }
  | { edit: "text"; text: string };

interface Changed {
  revision: string;
  parts: { part: string; html: string }[];
}

/** What stood in each part last, so that only what has changed is drawn. */
const drawn = new Map<string, string>();

/** The revision of the last answer; a part that somebody writes in may show an older one. */
let latest = "";

let queue: Promise<void> = Promise.resolve();

/** The study of this page; `null` on pages without a sheet. */
export const sheet = (): HTMLElement | null => document.querySelector<HTMLElement>("[data-study]");

const name = (): string => sheet()?.dataset["study"] ?? "";

/** The revision that the page shows. */
export const revision = (): string =>
  latest || document.querySelector("#part-heading")?.getAttribute("data-revision") || "";

const address = (what: string): string => `/api/study/${encodeURIComponent(name())}/${what}`;

/** Makes a change; `label` says what it is, for undo. */
export function change(edits: Edit[], label: string): Promise<void> {
  return post("edit", { edits, label }, label);
}

/** Takes a change back, or makes it again. */
export function step(verb: "undo" | "redo"): Promise<void> {
  return post(verb, {}, verb);
}

function post(what: string, body: object, label: string): Promise<void> {
  queue = queue.then(async () => {
    const started = performance.now();
    try {
      const answer = await send<Changed>(address(what), { ...body, base: revision() });
      show(answer);
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

/** Sends a change again, on the text that the user has seen meanwhile. */
async function retry(body: object, base: string): Promise<void> {
  try {
    show(await send<Changed>(address("edit"), { ...body, base }));
    say("Saved.");
  } catch (error) {
    explain(error);
    restore();
  }
}

function isConflict(body: unknown): body is { conflict: Conflict } {
  return typeof body === "object" && body !== null && "conflict" in body;
}

function show(answer: Changed): void {
  latest = answer.revision;
  for (const { part, html } of answer.parts) {
    const present = document.querySelector(`[data-part="${CSS.escape(part)}"]`);
    if (!present) continue;
    // The revision in the tag differs each time; what is inside tells whether there is anything to draw.
    const inner = html.replace(/ data-revision="[^"]*"/, "");
    if (busy(present)) continue;
    if (drawn.get(part) === inner) present.setAttribute("data-revision", answer.revision);
    else replace(present, html);
    drawn.set(part, inner);
  }
}

let asked = false;

/** Draws the sheet anew, once for all that is asked while one answer is under way. */
export function refresh(): void {
  if (asked) return;
  asked = true;
  queue = queue.then(async () => {
    asked = false;
    try {
      show(await read<Changed>(address("sheet")));
    } catch (error) {
      explain(error);
    }
  });
}

/** Gives fields back what the text says, after a change that was refused. */
function restore(): void {
  for (const input of document.querySelectorAll<HTMLInputElement | HTMLSelectElement>("[data-at]")) {
    if (input instanceof HTMLSelectElement) {
      for (const option of input.options) option.selected = option.defaultSelected;
    } else if (input.type === "checkbox") input.checked = input.defaultChecked;
    else input.value = input.defaultValue;
  }
}

// A part that came by another way is not what was remembered.
document.addEventListener("tidewall:drawn", (event) => {
  const part = (event as CustomEvent<Element>).detail.getAttribute("data-part");
  if (part) drawn.delete(part);
});
