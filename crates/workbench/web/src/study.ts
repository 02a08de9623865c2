// The sheet of a study: fields, buttons, the drawing of the ladder, the text.
import { change, refresh, sheet, step, type Edit, type Value } from "./edit";

/** Begins to listen; does nothing on pages without a sheet. */
export function edit(): void {
  document.addEventListener("change", changed);
  document.addEventListener("click", clicked);
  document.addEventListener("submit", submitted);
  document.addEventListener("reset", (event) => quiet(event.target as HTMLElement));
  document.addEventListener("input", writing);
  document.addEventListener("keydown", pressed);
  document.addEventListener("tidewall:drawn", (event) => prepare((event as CustomEvent<Element>).detail));
  document.addEventListener("tidewall:reload", refresh);
  prepare(document);
}

/** What a field says about its key. */
function fieldEdit(input: HTMLInputElement | HTMLSelectElement, at: string): Edit | null {
  const form = input.dataset["form"];
  if (form === "truth" && input instanceof HTMLInputElement) {
    return input.checked ? { edit: "set", at, value: true } : { edit: "unset", at };
  }
  const text = input.value.trim();
  if (text === "") {
    const stood = input instanceof HTMLInputElement ? input.defaultValue !== "" : true;
    return stood ? { edit: "unset", at } : null;
  }
  const value: Value = form === "whole" && /^-?\d+$/.test(text) ? Number(text) : text;
  return { edit: "set", at, value };
}

function changed(event: Event): void {
  const target = event.target;
  if (!sheet() || !(target instanceof HTMLInputElement || target instanceof HTMLSelectElement)) return;
  const { at, more, insertList, atEnd } = target.dataset;
  if (at !== undefined) {
    const made = fieldEdit(target, at);
    const what = target.getAttribute("aria-label") ?? at;
    if (made) void change([made], `${what} ${target.type === "checkbox" ? "" : target.value || "removed"}`.trim());
  } else if (more !== undefined && target.value) {
    const place = `${more}.${target.value}`;
    void change([{ edit: "set", at: place, value: "" }], `key ${target.value}`).then(() => focus(`f-${place}`));
  } else if (insertList !== undefined && target.value) {
    const entry = JSON.parse(target.value) as { [key: string]: Value };
    void change([{ edit: "insert", list: insertList, at: Number(atEnd), entry }], `new ${insertList}`);
  }
}

function clicked(event: MouseEvent): void {
  const button = (event.target as Element).closest<HTMLElement>("[data-do]");
  if (button && sheet()) {
    act(button);
    return;
  }
  const place = (event.target as Element).closest<SVGElement>(".schematic [data-stage], .schematic [data-insert]");
  if (place) choose(place);
}

function act(button: HTMLElement): void {
  const { do: verb, list = "", from = "0", to = "0", place = "", value = "null" } = button.dataset;
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
      void change([{ edit: "unset", at: place }], words);
      break;
    case "set":
      void change([{ edit: "set", at: place, value: JSON.parse(value) as Value }], words);
      break;
  }
}

/** A stage of the drawing leads to its fields, a gap to the form of a new stage there. */
function choose(place: SVGElement): void {
  const { stage, insert } = place.dataset;
  if (stage !== undefined) {
    const row = document.getElementById(`stage-${stage}`);
    row?.scrollIntoView({ block: "nearest" });
    row?.querySelector<HTMLElement>("td:nth-child(3) input")?.focus();
  } else if (insert !== undefined) {
    const form = document.querySelector<HTMLDetailsElement>("#add-stage");
    const at = document.querySelector<HTMLSelectElement>("#stage-at");
    if (!form || !at) return;
    form.open = true;
    at.value = insert;
    form.scrollIntoView({ block: "nearest" });
    document.getElementById("stage-kind")?.focus();
  }
}

function submitted(event: SubmitEvent): void {
  const form = event.target as HTMLFormElement;
  if (form.dataset["form"] === "text") {
    event.preventDefault();
    const area = form.querySelector("textarea");
    const plain = area?.value ?? "";
    // Browsers hand out line feeds alone, whatever the file has.
    const text = area?.dataset["ends"] === "crlf" ? plain.replaceAll("\n", "\r\n") : plain;
    quiet(form);
    void change([{ edit: "text", text }], "text");
  } else if (form.dataset["form"] === "stage") {
    event.preventDefault();
    const data = new FormData(form);
    const read = (key: string): string => String(data.get(key) ?? "").trim();
    const entry = stageOf(read);
    void change([{ edit: "insert", list: "ladder", at: Number(read("at")), entry }], "new stage").then(() => {
      document.querySelector<HTMLElement>(`#stage-${read("at")} td:nth-child(3) input`)?.focus();
    });
  }
}

/** The keys of a new stage; what is left open is said by the study itself. */
function stageOf(read: (key: string) => string): { [key: string]: Value } {
  const entry: { [key: string]: Value } = {};
  const put = (into: { [key: string]: Value }, key: string) => {
    if (read(key) !== "") into[key] = read(key);
  };
  put(entry, "name");
  switch (read("kind")) {
    case "shunt":
      entry["shunt"] = read("part");
      put(entry, "lead");
      break;
    case "series":
      entry["series"] = read("part");
      break;
    case "capacitor": {
      const inner: { [key: string]: Value } = {};
      put(inner, "capacitance");
      entry["shunt"] = inner;
      put(entry, "lead");
      break;
    }
    default: {
      const inner: { [key: string]: Value } = {};
      put(inner, "resistance");
      put(inner, "inductance");
      entry["series"] = inner;
    }
  }
  return entry;
}

/** A text that is being written is not drawn over. */
function writing(event: Event): void {
  const target = event.target;
  if (target instanceof HTMLTextAreaElement && target.closest('[data-form="text"]')) target.dataset["editing"] = "";
}

function quiet(form: HTMLElement): void {
  for (const area of form.querySelectorAll("[data-editing]")) area.removeAttribute("data-editing");
}

function pressed(event: KeyboardEvent): void {
  if (!sheet()) return;
  const target = event.target;
  const field = target instanceof HTMLElement && target.matches("[data-at]") ? target : null;
  if (field instanceof HTMLInputElement && event.key === "Escape") {
    field.value = field.defaultValue;
    return;
  }
  if (field instanceof HTMLInputElement && event.key === "Enter") {
    // The browser tells of a change when a field is left, and once only; Enter is to do it at once.
    field.blur();
    field.focus({ preventScroll: true });
    event.preventDefault();
    return;
  }
  const place = target instanceof SVGElement ? target.closest<SVGElement>("[data-stage], [data-insert]") : null;
  if (place && (event.key === "Enter" || event.key === " ")) {
    event.preventDefault();
    choose(place);
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

const focus = (id: string): void => document.getElementById(id)?.focus();
const focusKey = (key: string): void =>
  document.querySelector<HTMLElement>(`[data-key="${CSS.escape(key)}"]:not(:disabled)`)?.focus();

/** Makes drawings operable by keyboard, and shows of the form of a new stage what its kind needs. */
function prepare(root: ParentNode): void {
  for (const place of root.querySelectorAll<SVGElement>(".schematic [data-stage], .schematic [data-insert]")) {
    place.setAttribute("tabindex", "0");
    place.setAttribute("role", "button");
    // The name begins with what is to be seen there, so that it can be called by that.
    const seen = [...place.querySelectorAll("text")].map((text) => text.textContent?.trim() ?? "").join(" ");
    const { name = "", insert } = place.dataset;
    const label = insert === undefined ? `${seen || name}: to the values of the stage` : `${seen} Add a stage at place ${Number(insert) + 1}`;
    place.setAttribute("aria-label", label.trim());
    // A picture has no parts that can be reached; a group has.
    place.closest("svg")?.setAttribute("role", "group");
  }
  const kind = root.querySelector<HTMLSelectElement>("#stage-kind");
  if (kind) {
    const show = (): void => {
      for (const pair of document.querySelectorAll<HTMLElement>("#add-stage [data-for]")) {
        pair.hidden = !(pair.dataset["for"] ?? "").split(" ").includes(kind.value);
      }
    };
    kind.addEventListener("change", show);
    show();
  }
}
