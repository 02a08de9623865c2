// Requests byte by byte, as no browser sends them.
import { readFileSync } from "node:fs";
import { connect, type Socket } from "node:net";

import type { Bench } from "./bench";

/** A connection on which anything can be sent. */
export class Raw {
  received = "";
  /** True when the other side has closed, or broken off. */
  closed = false;
  private readonly socket: Socket;
  private wake: () => void = () => undefined;

  constructor(bench: Bench) {
    this.socket = connect(bench.port, "127.0.0.1");
    this.socket.on("data", (bytes) => {
      this.received += bytes.toString("latin1");
      this.wake();
    });
    const gone = (): void => {
      this.closed = true;
      this.wake();
    };
    this.socket.on("error", gone);
    this.socket.on("close", gone);
    // The other side has said all: what it still gets does not matter.
    this.socket.on("end", gone);
  }

  /** Sends bytes; true if they are on their way, false if the connection is gone. */
  async send(bytes: string | Uint8Array): Promise<boolean> {
    if (this.closed) return false;
    return new Promise((done) => {
      const flowing = this.socket.write(bytes, (error) => done(!error && !this.closed));
      if (!flowing) this.wake = () => this.closed && done(false);
    });
  }

  /** Waits until something is true of the connection; false if it takes longer than `patience_ms`. */
  async until(holds: (raw: Raw) => boolean, patience_ms: number): Promise<boolean> {
    const end = Date.now() + patience_ms;
    while (!holds(this)) {
      const left = end - Date.now();
      if (left <= 0) return false;
      await new Promise<void>((done) => {
        const timer = setTimeout(done, Math.min(left, 200));
        this.wake = () => {
          clearTimeout(timer);
          done();
        };
      });
    }
    return true;
  }

  /** The status of the answer, once its header is there. */
  async status(patience_ms = 30_000): Promise<number> {
    await this.until((raw) => raw.received.includes("\r\n\r\n") || raw.closed, patience_ms);
    const status = /^HTTP\/1\.[01] (\d{3})/.exec(this.received)?.[1];
    if (status === undefined) throw new Error(`no answer, but: ${JSON.stringify(this.received.slice(0, 200))}`);
    return Number(status);
  }

  /** All that comes until the other side closes. */
  async rest(patience_ms = 30_000): Promise<string> {
    await this.until((raw) => raw.closed, patience_ms);
    return this.received;
  }

  end(): void {
    this.socket.destroy();
  }
}

/** Sends a whole request and returns the whole answer. */
export async function exchange(bench: Bench, request: string): Promise<{ status: number; text: string }> {
  const raw = new Raw(bench);
  try {
    await raw.send(request);
    const status = await raw.status();
    return { status, text: await raw.rest() };
  } finally {
    raw.end();
  }
}

/** Memory of the workbench that lies in the machine's, in bytes; `undefined` where the system does not tell. */
export function resident(bench: Bench): number | undefined {
  try {
    const status = readFileSync(`/proc/${bench.pid}/status`, "utf8");
    return Number(/VmRSS:\s+(\d+) kB/.exec(status)?.[1]) * 1024;
  } catch {
    return undefined;
  }
}
