// Measured points: reading, fitting, keeping.
import { answer, byId, onFile, onSubmit, textOf, ticked } from "./forms";
import { say } from "./status";

/** Points that fit into one request. */
const LARGEST = 900_000;

interface Measured {
  file: string;
  text: string;
  curve: string;
  known: Record<string, string>;
  robust: boolean;
  tlp: boolean;
}

export function curves(): void {
  const choice = byId<HTMLSelectElement>("curve");
  if (!choice) return;
  let file = "";
  /** What the shown fit was made of: only that is kept. */
  let shown: Measured | null = null;

  const fields = [...document.querySelectorAll<HTMLElement>("[data-of]")];
  const fits = (): void => {
    const columns = byId("columns");
    if (columns) columns.textContent = choice.selectedOptions[0]?.dataset["columns"] ?? "";
    for (const field of fields) {
      const of = (field.dataset["of"] ?? "").split(" ");
      field.hidden = !of.includes(choice.value) || (field.hasAttribute("data-tlp") && !ticked("tlp"));
    }
  };
  choice.addEventListener("change", fits);
  byId("tlp")?.addEventListener("change", fits);
  fits();

  onFile("points-file", (chosen) => {
    if (chosen.size > LARGEST) {
      say(`${chosen.name} is too large for this page: use tidewall extract fit.`, "error");
      return;
    }
    void chosen.text().then((text) => {
      const area = byId<HTMLTextAreaElement>("points");
      if (area) area.value = text;
      file = chosen.name;
    });
  });
  byId("points")?.addEventListener("input", () => (file = ""));

  const measured = (): Measured => {
    const known: Record<string, string> = {};
    for (const field of fields) {
      const input = field.querySelector<HTMLInputElement | HTMLSelectElement>("[data-known]");
      if (!field.hidden && input) known[input.dataset["known"] ?? ""] = input.value;
    }
    return {
      file,
      text: textOf("points"),
      curve: choice.value,
      known,
      robust: ticked("robust"),
      tlp: ticked("tlp"),
    };
  };

  onSubmit("fit-points", async () => {
    const asked = measured();
    shown = null;
    if (!(await answer("/api/curves/fit", asked, "fitted"))) return;
    shown = asked;
    onSubmit("keep-fit", async () => {
      const kept = document.createElement("div");
      kept.id = "kept";
      byId("kept")?.remove();
      byId("keep-fit")?.after(kept);
      await answer(
        "/api/curves/keep",
        { measured: shown, part: textOf("keep-part"), document: textOf("keep-document") },
        "kept",
      );
    });
  });
}
