// Forms whose answer is shown in the page.
import { Refused, send } from "./request";
import { explain } from "./status";

/** What the server says of something that was done. */
interface Outcome {
  html: string;
}

/** An element of the page by its id, if it is there. */
export function byId<E extends HTMLElement>(id: string): E | null {
  return document.getElementById(id) as E | null;
}

/** Text of a field by its id; empty if it is not there. */
export function textOf(id: string): string {
  return byId<HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement>(id)?.value ?? "";
}

/** True for a box that is ticked. */
export function ticked(id: string): boolean {
  return byId<HTMLInputElement>(id)?.checked ?? false;
}

/** Does something on `submit` with the value of the button that was pressed; the form is locked meanwhile. */
export function onSubmit(id: string, act: (pressed: string) => Promise<void>): void {
  const form = byId<HTMLFormElement>(id);
  form?.addEventListener("submit", (event) => {
    event.preventDefault();
    const button = event.submitter as HTMLButtonElement | null;
    const buttons = [...form.querySelectorAll("button")];
    const locked = buttons.filter((each) => !each.disabled);
    for (const each of locked) each.disabled = true;
    form.setAttribute("aria-busy", "true");
    void act(button?.value ?? "")
      .catch(explain)
      .finally(() => {
        form.removeAttribute("aria-busy");
        for (const each of locked) each.disabled = false;
        button?.focus({ preventScroll: true });
      });
  });
}

/** Sends something and shows the answer in the element with that id: an outcome, or why it was refused. */
export async function answer(address: string, body: unknown, target: string): Promise<boolean> {
  const place = byId(target);
  if (!place) return false;
  place.setAttribute("aria-busy", "true");
  try {
    const { html } = await send<Outcome>(address, body);
    place.innerHTML = html;
    return true;
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    place.replaceChildren(refusal(error));
    return false;
  } finally {
    place.removeAttribute("aria-busy");
    place.scrollIntoView({ block: "nearest" });
  }
}

/** A refusal as a framed text; what a file says stays text. */
function refusal(error: Refused): HTMLElement {
  const { fault } = error;
  const frame = document.createElement("div");
  frame.className = "fault";
  frame.setAttribute("role", "alert");
  const place = [
    fault.file ?? "",
    fault.line ? `line ${fault.line}` : "",
    fault.column ? `column ${fault.column}` : "",
  ].filter((piece) => piece !== "");
  const where = place.length > 0 ? `${place.join(", ")}: ` : "";
  add(frame, "message", `${where}${fault.message}`);
  if (fault.expected) add(frame, "", `Expected: ${fault.expected}`);
  if (fault.hint) add(frame, "hint", fault.hint);
  return frame;
}

function add(frame: HTMLElement, kind: string, text: string): void {
  const line = document.createElement("p");
  line.className = kind;
  line.textContent = text;
  frame.append(line);
}

/** Gives files that are chosen in `input`, or dropped on its form, to `take`. */
export function onFile(id: string, take: (file: File) => void): void {
  const input = byId<HTMLInputElement>(id);
  if (!input) return;
  input.addEventListener("change", () => {
    const file = input.files?.[0];
    if (file) take(file);
  });
  const form = input.closest<HTMLFormElement>("[data-drop]");
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
