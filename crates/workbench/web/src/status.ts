// The line at the foot of the page that says what happened.

let forget: number | undefined;

/** Says something; an error stays until the next word. */
export function say(text: string, kind: "note" | "error" = "note"): void {
  const line = document.getElementById("status");
  if (!line) return;
  window.clearTimeout(forget);
  line.textContent = text;
  line.className = kind;
  if (kind === "note") {
    forget = window.setTimeout(() => {
      line.textContent = "";
      line.className = "";
    }, 4000);
  }
}

/** Says why something was refused. */
export function explain(error: unknown): void {
  if (error instanceof DOMException && error.name === "AbortError") return;
  const fault = (error as { fault?: { message: string; expected?: string; hint?: string } }).fault;
  if (!fault) {
    say(String(error), "error");
    return;
  }
  const expected = fault.expected ? ` Expected: ${fault.expected}.` : "";
  const hint = fault.hint ? ` ${fault.hint}` : "";
  say(`${fault.message}.${expected}${hint}`, "error");
}
