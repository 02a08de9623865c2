// Requests to this server, and what it says when it refuses.

/** What a refusal is made of; the form of `tidewall/error/1`. */
export interface Fault {
  message: string;
  expected?: string;
  hint?: string;
  file?: string;
  line?: number;
  column?: number;
}

/** An answer that is no success. */
export class Refused extends Error {
  constructor(
    readonly status: number,
    readonly fault: Fault,
    readonly body: unknown,
  ) {
    super(fault.message);
  }
}

const token = (): string =>
  document.querySelector<HTMLMetaElement>('meta[name="tidewall-token"]')?.content ?? "";

/** Asks; an answer that is no success becomes a `Refused`. */
async function ask(address: string, init: RequestInit): Promise<Response> {
  let response: Response;
  try {
    response = await fetch(address, { credentials: "same-origin", redirect: "error", ...init });
  } catch (error) {
    if (error instanceof DOMException && error.name === "AbortError") throw error;
    throw new Refused(0, { message: "the workbench does not answer", hint: "is `tidewall open` still running?" }, null);
  }
  if (response.ok) return response;
  const body: unknown = await response.json().catch(() => null);
  const fault = (body as { error?: Fault } | null)?.error;
  throw new Refused(response.status, fault ?? { message: `the workbench answered ${response.status}` }, body);
}

/** A fragment of a page. */
export async function fragment(address: string, signal?: AbortSignal): Promise<string> {
  const response = await ask(address, { headers: { accept: "text/vnd.tidewall.fragment" }, ...(signal ? { signal } : {}) });
  return response.text();
}

/** A question in JSON. */
export async function read<T>(address: string): Promise<T> {
  const response = await ask(address, { headers: { accept: "application/json" } });
  return (await response.json()) as T;
}

/** A change. */
export async function send<T>(address: string, body: unknown, signal?: AbortSignal): Promise<T> {
  const response = await ask(address, {
    method: "POST",
    headers: {
      accept: "application/json",
      "content-type": "application/json",
      "x-tidewall-token": token(),
    },
    body: JSON.stringify(body),
    ...(signal ? { signal } : {}),
  });
  return (await response.json()) as T;
}

/** A file, as it is. */
export async function upload<T>(address: string, file: Blob): Promise<T> {
  const response = await ask(address, {
    method: "POST",
    headers: {
      accept: "application/json",
      "content-type": "application/octet-stream",
      "x-tidewall-token": token(),
    },
    body: file,
  });
  return (await response.json()) as T;
}
