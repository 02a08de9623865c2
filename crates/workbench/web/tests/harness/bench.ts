// A workbench over a copy of the demo: started, killed, started again, and asked from outside.
import { type ChildProcessWithoutNullStreams, execFile, spawn } from "node:child_process";
import { cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { promisify } from "node:util";

/** Root of the repository; tests run in `crates/workbench/web`. */
export const ROOT = join(process.cwd(), "../../..");
const DEMO = join(ROOT, "demo/river-gauge");

/** The program under test; `scripts/browser` names it. */
export const PROGRAM = process.env["TIDEWALL_PROGRAM"] ?? join(ROOT, "target/debug/tidewall");

/** How long a start may take on a busy machine, in milliseconds. */
const PATIENCE = 30_000;

/** What `tidewall open --format json` says. */
interface Opened {
  url: string;
  folder: string;
}

/** Answer of a plain request. */
export interface Answer {
  status: number;
  headers: Headers;
  text: string;
}

/** A running workbench. */
export class Bench {
  /** The address that was printed, with the key. */
  url = "";
  /** `http://127.0.0.1:PORT` */
  origin = "";
  port = 0;
  private process: ChildProcessWithoutNullStreams | undefined;

  private constructor(
    private readonly place: string,
    /** The folder of studies. */
    readonly folder: string,
    /** File of the parts library. */
    readonly library: string,
  ) {}

  /** A workbench over the studies of the demo of these names, or all; `parts.toml` is always there. */
  static async start(studies?: string[]): Promise<Bench> {
    const place = mkdtempSync(join(tmpdir(), "tidewall-browser-"));
    const folder = join(place, "studies");
    mkdirSync(folder);
    if (studies) {
      for (const name of [...studies, "parts.toml"]) cpSync(join(DEMO, name), join(folder, name));
    } else {
      cpSync(DEMO, folder, { recursive: true });
    }
    const bench = new Bench(place, folder, join(place, "library.sqlite"));
    await bench.run();
    return bench;
  }

  /** Starts the program; on the port it had, if it ran before. */
  async run(): Promise<void> {
    if (!existsSync(PROGRAM)) throw new Error(`there is no ${PROGRAM}: build it, or name it in TIDEWALL_PROGRAM`);
    const port = this.port === 0 ? [] : ["--port", String(this.port)];
    mkdirSync(this.temporary, { recursive: true });
    const child = spawn(PROGRAM, ["open", this.folder, "--library", this.library, "--format", "json", ...port], {
      env: { ...process.env, TMPDIR: this.temporary },
    });
    this.process = child;
    let said = "";
    let wrong = "";
    child.stderr.on("data", (bytes: Buffer) => (wrong += bytes.toString()));
    const opened = await new Promise<Opened>((done, failed) => {
      const timer = setTimeout(() => failed(new Error(`the workbench does not start: ${said}${wrong}`)), PATIENCE);
      child.stdout.on("data", (bytes: Buffer) => {
        said += bytes.toString();
        try {
          done(JSON.parse(said) as Opened);
          clearTimeout(timer);
        } catch {
          // Not all of it yet.
        }
      });
      child.once("exit", (code) => failed(new Error(`the workbench ended with ${code}: ${said}${wrong}`)));
    });
    const address = new URL(opened.url);
    this.url = opened.url;
    this.origin = address.origin;
    this.port = Number(address.port);
  }

  /** Where the program puts temporary files. */
  get temporary(): string {
    return join(this.place, "temporary");
  }

  /** Number of the process. */
  get pid(): number {
    const pid = this.process?.pid;
    if (pid === undefined) throw new Error("the workbench does not run");
    return pid;
  }

  /** True while the program runs. */
  get alive(): boolean {
    return this.process !== undefined && this.process.exitCode === null && this.process.signalCode === null;
  }

  /** Ends the program with a signal and waits for the end. */
  async end(signal: NodeJS.Signals): Promise<void> {
    const child = this.process;
    this.process = undefined;
    if (!child || child.exitCode !== null || child.signalCode !== null) return;
    const ended = new Promise((done) => child.once("exit", done));
    child.kill(signal);
    await ended;
  }

  /** Ends the program and removes the folder. */
  async stop(): Promise<void> {
    await this.end("SIGKILL");
    rmSync(this.place, { recursive: true, force: true });
  }

  /** A place outside the opened folder that goes with the workbench. */
  outside(name: string): string {
    return join(this.place, name);
  }

  /** Text of a file of the folder. */
  read(name: string): string {
    return readFileSync(join(this.folder, name), "utf8");
  }

  /** Writes a file of the folder, as another program would. */
  write(name: string, text: string): void {
    const path = join(this.folder, name);
    mkdirSync(dirname(path), { recursive: true });
    writeFileSync(path, text);
  }

  /** Cookie and token of a page, for requests made without a browser. */
  async keys(): Promise<{ cookie: string; token: string }> {
    const entered = await fetch(this.url, { redirect: "manual" });
    const cookie = (entered.headers.get("set-cookie") ?? "").split(";")[0] ?? "";
    const page = await fetch(`${this.origin}/`, { headers: { cookie, accept: "text/html" } });
    const token = /name="tidewall-token" content="([^"]+)"/.exec(await page.text())?.[1] ?? "";
    return { cookie, token };
  }

  /** The result of `tidewall check` for a study of the folder. */
  async check(name: string): Promise<Result> {
    return JSON.parse(await this.tidewall(["check", join(this.folder, name), "--format", "json"])) as Result;
  }

  /** Runs another command, with this workbench's library unless another is named; returns its output whatever the verdict. */
  async tidewall(args: string[], library: string = this.library): Promise<string> {
    const run = promisify(execFile);
    try {
      return (await run(PROGRAM, [...args, "--library", library], { maxBuffer: 1 << 28 })).stdout;
    } catch (error) {
      const failed = error as { code?: number; stdout?: string; stderr?: string };
      // 1 and 2 are verdicts, not failures.
      if ((failed.code === 1 || failed.code === 2) && failed.stdout) return failed.stdout;
      throw new Error(`tidewall ${args.join(" ")} ended with ${failed.code}: ${failed.stderr}`);
    }
  }
}

/** The part of the result contract that tests compare. */
export interface Result {
  verdict: string;
  checks: {
    check: string;
    stress: string | null;
    element: string;
    value: number | null;
    limit: number | null;
    unit: string;
    margin: number | null;
    verdict: string;
  }[];
}
