// A change that was made on another text: both are shown, nothing is lost, the user chooses.

/** Both texts. */
export interface Conflict {
  revision: string;
  theirs: string;
  mine?: string;
  fits: boolean;
}

type Retry = (body: object, base: string) => Promise<void>;

/** Lines of two texts that differ, with a few around them. */
export function differences(left: string, right: string): { sign: " " | "-" | "+"; line: string }[] {
  const a = left.split("\n");
  const b = right.split("\n");
  let start = 0;
  while (start < a.length && start < b.length && a[start] === b[start]) start += 1;
  let end = 0;
  while (end < a.length - start && end < b.length - start && a[a.length - 1 - end] === b[b.length - 1 - end]) end += 1;
  const around = 2;
  const plain = (lines: string[]) => lines.map((line) => ({ sign: " " as const, line }));
  return [
    ...plain(a.slice(Math.max(0, start - around), start)),
    ...a.slice(start, a.length - end).map((line) => ({ sign: "-" as const, line })),
    ...b.slice(start, b.length - end).map((line) => ({ sign: "+" as const, line })),
    ...plain(a.slice(a.length - end, a.length - end + around)),
  ];
}

function element<K extends keyof HTMLElementTagNameMap>(tag: K, text = "", className = ""): HTMLElementTagNameMap[K] {
  const made = document.createElement(tag);
  made.textContent = text;
  if (className) made.className = className;
  return made;
}

/** Asks what to do, and does it. */
export async function settle(conflict: Conflict, body: object, retry: Retry): Promise<void> {
  const dialog = element("dialog", "", "conflict");
  dialog.setAttribute("aria-labelledby", "conflict-title");
  const title = element("h2", "The study has changed meanwhile");
  title.id = "conflict-title";
  dialog.append(
    title,
    element("p", "Another window or another program has written to this file. Nothing of yours has been written yet, and nothing of theirs is lost."),
  );
  if (conflict.mine !== undefined) {
    dialog.append(element("p", "Lines with + are your text, lines with − the text in the file:"));
    const list = element("pre", "", "difference");
    list.tabIndex = 0;
    for (const { sign, line } of differences(conflict.theirs, conflict.mine)) {
      const kind = sign === "+" ? "came" : sign === "-" ? "went" : "";
      list.append(element("span", `${sign === "-" ? "−" : sign} ${line}\n`, kind));
    }
    dialog.append(list);
  }
  const buttons = element("p", "", "buttons");
  const choose = (text: string, choice: string, main = false) => {
    const button = element("button", text, main ? "main" : "");
    button.type = "button";
    button.addEventListener("click", () => dialog.close(choice));
    buttons.append(button);
  };
  if (conflict.fits) choose("Make my change on their text", "both", true);
  if (conflict.mine !== undefined) choose("Keep my text", "mine");
  choose("Keep theirs", "theirs");
  dialog.append(buttons);
  document.body.append(dialog);
  dialog.showModal();
  const choice = await new Promise<string>((resolve) => {
    dialog.addEventListener("close", () => resolve(dialog.returnValue), { once: true });
  });
  dialog.remove();
  if (choice === "both") await retry(body, conflict.revision);
  else if (choice === "mine" && conflict.mine !== undefined) {
    await retry({ edits: [{ edit: "text", text: conflict.mine }], label: "keep my text" }, conflict.revision);
  } else {
    document.dispatchEvent(new CustomEvent("tidewall:reload"));
  }
}
