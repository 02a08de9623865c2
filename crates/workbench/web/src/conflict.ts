// A change that was made on another text: both are shown, nothing is lost, the user chooses.

/** Both texts. */
export interface Conflict {
  revision: string;
  theirs: string;
  mine?: string;
  fits: boolean;
}

type Retry = (body: object, base: string) => Promise<void>;

/** A line of two texts set side by side: in both, only in the left, only in the right, or some left out. */
interface Line {
  sign: " " | "-" | "+" | "…";
  line: string;
}

/** Equal lines shown before and behind a difference. */
const AROUND = 2;
/** Texts with more differing pairs of lines than this are not compared line by line. */
const MOST_PAIRS = 4_000_000;

/** Lines of two texts that differ, with a few around them. */
export function differences(left: string, right: string): Line[] {
  const a = left.split("\n");
  const b = right.split("\n");
  let start = 0;
  while (start < a.length && start < b.length && a[start] === b[start]) start += 1;
  let end = 0;
  while (end < a.length - start && end < b.length - start && a[a.length - 1 - end] === b[b.length - 1 - end]) end += 1;
  const equal = (lines: string[]): Line[] => lines.map((line) => ({ sign: " ", line }));
  return folded([
    ...equal(a.slice(0, start)),
    ...middle(a.slice(start, a.length - end), b.slice(start, b.length - end)),
    ...equal(a.slice(a.length - end)),
  ]);
}

/** The differing middle, by the longest common subsequence of its lines. */
function middle(a: string[], b: string[]): Line[] {
  const wide = b.length + 1;
  if (a.length * b.length > MOST_PAIRS) {
    return [...a.map((line): Line => ({ sign: "-", line })), ...b.map((line): Line => ({ sign: "+", line }))];
  }
  // Length of the longest common subsequence of what is left of both from i and j on.
  const common = new Uint32Array((a.length + 1) * wide);
  const at = (i: number, j: number): number => common[i * wide + j] ?? 0;
  for (let i = a.length - 1; i >= 0; i -= 1) {
    for (let j = b.length - 1; j >= 0; j -= 1) {
      common[i * wide + j] = a[i] === b[j] ? at(i + 1, j + 1) + 1 : Math.max(at(i + 1, j), at(i, j + 1));
    }
  }
  const lines: Line[] = [];
  let i = 0;
  let j = 0;
  while (i < a.length || j < b.length) {
    if (i < a.length && j < b.length && a[i] === b[j]) {
      lines.push({ sign: " ", line: a[i] ?? "" });
      i += 1;
      j += 1;
    } else if (j >= b.length || (i < a.length && at(i + 1, j) >= at(i, j + 1))) {
      lines.push({ sign: "-", line: a[i] ?? "" });
      i += 1;
    } else {
      lines.push({ sign: "+", line: b[j] ?? "" });
      j += 1;
    }
  }
  return lines;
}

/** Leaves out equal lines far from a difference. */
function folded(lines: Line[]): Line[] {
  const near = (k: number): boolean => {
    for (let other = k - AROUND; other <= k + AROUND; other += 1) {
      const sign = lines[other]?.sign;
      if (sign === "-" || sign === "+") return true;
    }
    return false;
  };
  const kept: Line[] = [];
  lines.forEach((line, k) => {
    if (near(k)) kept.push(line);
    else if (kept[kept.length - 1]?.sign !== "…") kept.push({ sign: "…", line: "" });
  });
  return kept;
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
