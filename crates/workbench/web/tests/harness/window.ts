// Pages in Chromium, each watched: an error on the console or a request to anywhere else fails the test.
import assert from "node:assert/strict";
import { accessSync, constants, mkdirSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { delimiter, join } from "node:path";
import { type Browser, type BrowserContext, chromium, type Page } from "playwright-core";
import { fileURLToPath, pathToFileURL } from "node:url";

import { Bench } from "./bench";

const AXE = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
/** How long a page may take on a busy machine, in milliseconds. */
export const PATIENCE = 60_000;

/** How a page is seen. */
export interface Look {
  scheme?: "light" | "dark";
  /** Width of the window in CSS pixels. */
  width?: number;
}

function found(): string {
  const named = process.env["TIDEWALL_CHROMIUM"];
  if (named) return named;
  for (const folder of (process.env["PATH"] ?? "").split(delimiter)) {
    for (const name of ["chromium", "chromium-browser"]) {
      try {
        accessSync(join(folder, name), constants.X_OK);
        return join(folder, name);
      } catch {
        // Not here.
      }
    }
  }
  throw new Error("there is no chromium: install it (apt-get install chromium), or name it in TIDEWALL_CHROMIUM");
}

let running: Promise<Browser> | undefined;

function browser(): Promise<Browser> {
  running ??= chromium.launch({
    executablePath: found(),
    args: [
      "--disable-gpu",
      "--disable-quic",
      "--no-first-run",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
    ],
  });
  return running;
}

/** Ends the browser. */
export async function closeBrowser(): Promise<void> {
  await (await running)?.close();
}

/** A window on a workbench. */
export class Window {
  /** What went wrong in it. */
  private readonly faults: string[] = [];
  private readonly allowed: RegExp[] = [];
  private readonly origins: string[] = [];
  private readonly files: string[] = [];
  /** Bytes of the bodies of all answers so far. */
  bytes = 0;

  private constructor(
    readonly page: Page,
    private readonly context: BrowserContext,
    private readonly look: Required<Look>,
  ) {}

  /** A window that has gone to the printed address. */
  static async open(bench: Bench, look: Look = {}): Promise<Window> {
    const window = await Window.blank(look);
    window.visit(bench.origin);
    await window.page.goto(bench.url);
    return window;
  }

  /** A window on a file, without any network. */
  static async file(path: string, look: Look = {}): Promise<Window> {
    const window = await Window.blank(look);
    window.files.push(path);
    await window.context.setOffline(true);
    await window.page.goto(pathToFileURL(path).href);
    return window;
  }

  private static async blank(look: Look): Promise<Window> {
    const full = { scheme: look.scheme ?? "light", width: look.width ?? 1280 } as const;
    const context = await (await browser()).newContext({
      colorScheme: full.scheme,
      viewport: { width: full.width, height: 900 },
      reducedMotion: "reduce",
    });
    context.setDefaultTimeout(PATIENCE);
    const window = new Window(await context.newPage(), context, full);
    await window.watch();
    return window;
  }

  private async watch(): Promise<void> {
    await this.context.route("**/*", async (route) => {
      const address = new URL(route.request().url());
      const own = address.protocol === "file:" && this.files.includes(fileURLToPath(address));
      if (own || this.origins.includes(address.origin) || address.protocol === "data:" || address.protocol === "blob:") {
        await route.fallback();
      } else {
        this.faults.push(`a request to ${address.protocol === "file:" ? address.href : address.origin}`);
        await route.abort();
      }
    });
    this.page.on("console", (message) => {
      if (message.type() === "error" || message.type() === "warning") this.faults.push(`console: ${message.text()}`);
    });
    this.page.on("pageerror", (error) => this.faults.push(`script: ${error.message}`));
    this.page.on("dialog", (dialog) => {
      this.faults.push(`a dialog of the browser: ${dialog.message()}`);
      void dialog.dismiss();
    });
    this.page.on("requestfinished", (request) => {
      void request
        .sizes()
        .then((sizes) => (this.bytes += sizes.responseBodySize))
        .catch(() => undefined);
    });
  }

  /** Waits until no verdict of the page is being computed any more. */
  async settled(): Promise<void> {
    const settled = (): boolean => document.querySelector(".verdict.running, [aria-busy=true]") === null;
    await this.page.waitForFunction(settled, undefined, { timeout: 2 * PATIENCE });
  }

  /** An error that is part of the test, such as a refused request. */
  allow(pattern: RegExp): void {
    this.allowed.push(pattern);
  }

  /** Lets the window go to another origin. */
  visit(origin: string): void {
    this.origins.push(origin);
  }

  /** Fails if something went wrong that was not allowed. */
  sound(): void {
    const wrong = this.faults.filter((fault) => !this.allowed.some((pattern) => pattern.test(fault)));
    assert.deepEqual(wrong, []);
  }

  async close(): Promise<void> {
    await this.context.close();
  }

  /** Fails where the page breaks a rule of accessibility, is wider than the window, or has a head of a table off its columns. */
  async clean(): Promise<void> {
    await this.page.evaluate(AXE);
    const violations = await this.page.evaluate(async () => {
      interface Violation {
        id: string;
        help: string;
        nodes: { html: string; failureSummary?: string }[];
      }
      const axe = (globalThis as unknown as { axe: { run(): Promise<{ violations: Violation[] }> } }).axe;
      const { violations } = await axe.run();
      return violations.map(({ id, help, nodes }) => ({
        id,
        help,
        nodes: nodes.slice(0, 4).map((node) => `${node.html.slice(0, 200)} ${node.failureSummary ?? ""}`),
      }));
    });
    assert.deepEqual(violations, [], `${this.page.url()} (${this.look.scheme}, ${this.look.width} px)`);
    const torn = await this.page.evaluate(() =>
      [...document.querySelectorAll("table")]
        .filter((table) => table.tHead && Math.abs(table.tHead.offsetWidth - (table.tBodies[0]?.offsetWidth ?? 0)) > 2)
        .map((table) => table.tHead?.innerText),
    );
    assert.deepEqual(torn, [], `${this.page.url()}: heads of tables that do not stand over their columns`);
    const [wide, inner] = await this.page.evaluate(() => [document.documentElement.scrollWidth, globalThis.innerWidth]);
    assert.ok((wide ?? 0) <= (inner ?? 0), `${this.page.url()} is ${wide} px wide in a window of ${inner} px`);
  }

  /** A picture of the whole page in the folder that TIDEWALL_SHOTS names, if it names one. */
  async shot(name: string): Promise<void> {
    const folder = process.env["TIDEWALL_SHOTS"];
    if (!folder) return;
    mkdirSync(folder, { recursive: true });
    const path = join(folder, `${name}-${this.look.scheme}-${this.look.width}.png`);
    await this.page.screenshot({ path, fullPage: true });
  }
}

/** What a test works with. */
export interface Scene {
  bench: Bench;
  window: Window;
  page: Page;
}

/** Runs something in a window on a workbench, and fails if anything went wrong in the window. */
export async function through(bench: Bench, look: Look, body: (scene: Scene) => Promise<void>): Promise<void> {
  const window = await Window.open(bench, look);
  try {
    await body({ bench, window, page: window.page });
    window.sound();
  } finally {
    await window.close();
  }
}
