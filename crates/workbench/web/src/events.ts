// News from the server: what changed on the disk, how far a computation is, when it is done.
import { say } from "./status";
import { refresh, revision, sheet } from "./edit";
import { partsOf, redrawSoon } from "./swap";

type News =
  | { kind: "changed"; name: string; revision: string }
  | { kind: "progress"; name: string; done: number; all: number }
  | { kind: "judged"; name: string }
  | { kind: "files" }
  | { kind: "job"; id: number; done: number; all: number; ended: boolean }
  | { kind: "ending" };

let source: EventSource | null = null;
let lost = false;

/** Listens as long as the page is seen: browsers have few connections for one server, and a hidden page needs none. */
export function follow(): void {
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "hidden") quiet();
    else if (!source) {
      listen();
      everything();
    }
  });
  window.addEventListener("pagehide", quiet);
  window.addEventListener("pageshow", (event) => {
    if (event.persisted && !source) {
      listen();
      everything();
    }
  });
  if (document.visibilityState !== "hidden") listen();
}

function quiet(): void {
  source?.close();
  source = null;
}

function listen(): void {
  const own = new EventSource("/events");
  source = own;
  own.onmessage = (message: MessageEvent<string>) => hear(JSON.parse(message.data) as News);
  own.onerror = () => {
    if (!lost) say("The workbench does not answer. Is `tidewall open` still running?", "error");
    lost = true;
  };
  own.onopen = () => {
    // What ended between the page and this connection is not told any more.
    if (!lost && document.querySelector(".verdict.running, progress[data-bar]") === null) return;
    if (lost) say("The workbench answers again.");
    lost = false;
    everything();
  };
}

/** Something may have been missed. */
function everything(): void {
  if (sheet()) refresh();
  else others([...document.querySelectorAll("[data-part]")]);
}

function hear(news: News): void {
  switch (news.kind) {
    case "changed":
      if (!onSheet(news.name)) others(partsOf(news.name).filter((part) => part.getAttribute("data-revision") !== news.revision));
      else if (revision() !== news.revision) refresh();
      break;
    case "judged":
      if (onSheet(news.name)) refresh();
      else others(partsOf(news.name));
      break;
    case "files":
      everything();
      break;
    case "progress":
      for (const bar of document.querySelectorAll<HTMLProgressElement>("progress[data-progress]")) {
        if (bar.dataset["progress"] === news.name) {
          bar.max = Math.max(news.all, 1);
          bar.value = news.done;
        }
      }
      break;
    case "job":
      document.dispatchEvent(new CustomEvent("tidewall:job", { detail: news }));
      break;
    case "ending":
      say("The workbench has ended. What was accepted is in the files.", "error");
      break;
  }
}

/** The sheet of a study is drawn as a whole. */
const onSheet = (name: string): boolean => sheet()?.dataset["study"] === name;

/** A list of many studies is not drawn for each of them. */
function others(parts: Element[]): void {
  for (const part of parts) redrawSoon(part, part.getAttribute("data-watch") === "all" ? 600 : 120);
}
