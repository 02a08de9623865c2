// News from the server: what changed on the disk, how far a computation is, when it is done.
import { say } from "./status";
import { partsOf, redraw } from "./swap";

type News =
  | { kind: "changed"; name: string; revision: string }
  | { kind: "progress"; name: string; done: number; all: number }
  | { kind: "judged"; name: string }
  | { kind: "files" }
  | { kind: "job"; id: number; done: number; all: number; ended: boolean }
  | { kind: "ending" };

/** Listens as long as the page is open. */
export function follow(): void {
  const source = new EventSource("/events");
  let lost = false;
  source.onmessage = (message: MessageEvent<string>) => hear(JSON.parse(message.data) as News);
  source.onerror = () => {
    if (!lost) say("The workbench does not answer. Is `tidewall open` still running?", "error");
    lost = true;
  };
  source.onopen = () => {
    if (!lost) return;
    lost = false;
    say("The workbench answers again.");
    for (const part of document.querySelectorAll("[data-part]")) void redraw(part);
  };
  window.addEventListener("pagehide", () => source.close());
}

function hear(news: News): void {
  switch (news.kind) {
    case "changed":
      for (const part of partsOf(news.name)) {
        if (part.getAttribute("data-revision") !== news.revision) void redraw(part);
      }
      break;
    case "judged":
      for (const part of partsOf(news.name)) void redraw(part);
      break;
    case "files":
      for (const part of document.querySelectorAll("[data-watch]")) void redraw(part);
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
