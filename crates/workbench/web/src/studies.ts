// The list of studies: begin one, copy one, keep the demo.
import { send } from "./request";
import { explain, say } from "./status";

/** Begins to listen. */
export function studies(): void {
  document.addEventListener("submit", (event) => {
    const form = event.target as HTMLFormElement;
    const data = new FormData(form);
    const read = (key: string): string => String(data.get(key) ?? "").trim();
    switch (form.dataset["form"]) {
      case "new":
        event.preventDefault();
        void go("/api/new", { profile: read("profile"), name: read("name") });
        break;
      case "copy":
        event.preventDefault();
        void go(`/api/study/${encodeURIComponent(form.dataset["of"] ?? "")}/copy`, { name: read("name") });
        break;
      case "keep":
        event.preventDefault();
        send<{ folder: string }>("/api/demo/keep", { folder: read("folder") }).then(
          (kept) => say(`The demo is kept in ${kept.folder}. Open it with: tidewall open ${kept.folder}`, "error"),
          explain,
        );
        break;
    }
  });
}

async function go(address: string, body: unknown): Promise<void> {
  try {
    location.assign((await send<{ address: string }>(address, body)).address);
  } catch (error) {
    explain(error);
  }
}
