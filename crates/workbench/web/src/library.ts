// The parts library: adding, retiring, importing.
import { answer, byId, onFile, onSubmit, textOf } from "./forms";
import { send, upload } from "./request";
import { explain, say } from "./status";

/** A table of at most this many bytes is taken; the server has the same limit. */
const LARGEST = 64 * 1024 * 1024;

export function library(): void {
  adding();
  retiring();
  sending();
  importing();
}

function adding(): void {
  let name = "";
  onFile("add-file", (file) => {
    name = file.name;
    void file.text().then((text) => {
      const area = byId<HTMLTextAreaElement>("add-text");
      if (area) area.value = text;
    });
  });
  onSubmit("add-parts", async (pressed) => {
    await answer("/api/parts/add", { file: name, text: textOf("add-text"), dry_run: pressed !== "add" }, "outcome");
  });
}

/** A first press asks, the second does it; a redrawing between the two forgets nothing. */
function retiring(): void {
  const sure = new Set<string>();
  const ask = (button: HTMLButtonElement, name: string): void => {
    button.classList.add("sure");
    button.textContent = `Really take ${name} out? Press again`;
  };
  document.addEventListener("tidewall:drawn", (event) => {
    const part = (event as CustomEvent<Element>).detail;
    for (const button of part.querySelectorAll<HTMLButtonElement>("button[data-retire]")) {
      const name = button.dataset["retire"];
      if (name !== undefined && sure.has(name)) ask(button, name);
    }
  });
  document.addEventListener("click", (event) => {
    const button = (event.target as Element).closest<HTMLButtonElement>("button[data-retire]");
    const name = button?.dataset["retire"];
    if (!button || name === undefined) return;
    if (!sure.has(name)) {
      sure.add(name);
      ask(button, name);
      return;
    }
    sure.delete(name);
    send("/api/parts/retire", { name }).then(() => say(`${name} is out of the library; its history stays.`), explain);
  });
}

function sending(): void {
  const form = byId<HTMLFormElement>("send-table");
  onFile("table", () => form?.requestSubmit());
  onSubmit("send-table", async () => {
    const file = byId<HTMLInputElement>("table")?.files?.[0];
    if (!file) {
      say("Choose a table first.", "error");
      return;
    }
    if (file.size > LARGEST) {
      say(`${file.name} is larger than 64 MB: use tidewall parts import, which has no limit.`, "error");
      return;
    }
    say(`Sending ${file.name} …`);
    const { address } = await upload<{ address: string }>(`/api/import?name=${encodeURIComponent(file.name)}`, file);
    location.assign(address);
  });
}

function importing(): void {
  const form = byId<HTMLFormElement>("run-import");
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
        sheet: form.dataset["sheet"] ?? null,
      },
      "outcome",
    );
  });
}
