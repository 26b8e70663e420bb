/** Asking the server: JSON both ways, compressed where the browser can, and an end to waiting. */
import { logging, Offline } from './api';

export { logging, Offline } from './api';

export interface Reply {
  status: number;
  body: unknown;
}
export interface Ask {
  method?: 'GET' | 'POST' | 'PUT' | 'DELETE';
  body?: unknown;
  /** Who of those who share this phone asks; who logs at present, if nobody is named. */
  person?: string | undefined;
}
export type FetchJson = (path: string, ask?: Ask) => Promise<Reply>;

export const PATIENCE_MS = 30_000;
const WORTH_PACKING_CHARACTERS = 1024;
const JSON_TYPE = 'application/json';

/** Ask the server; throws Offline where no answer of its comes. */
export const fetchJson: FetchJson = async (path, { method = 'GET', body, person } = {}) => {
  const [packed, who] = await Promise.all([pack(body), person ?? logging()]);
  const headers = { Accept: JSON_TYPE, ...packed.headers, ...(who && { 'Holdwatch-Person': who }) };
  const signal = AbortSignal.timeout(PATIENCE_MS);
  try {
    const answer = await fetch(path, { method, headers, body: packed.body, signal, cache: 'no-store', redirect: 'error' });
    return { status: answer.status, body: await read(answer) };
  } catch (error) {
    if (isUnreachable(error)) throw new Offline('no answer', { cause: error });
    throw error;
  }
};

interface Packed {
  headers: Record<string, string>;
  body: BodyInit | null;
}

async function pack(body: unknown): Promise<Packed> {
  if (body === undefined) return { headers: {}, body: null };
  const text = JSON.stringify(body);
  const headers = { 'Content-Type': JSON_TYPE };
  if (text.length < WORTH_PACKING_CHARACTERS || typeof CompressionStream === 'undefined') return { headers, body: text };
  const stream = new Blob([text]).stream().pipeThrough(new CompressionStream('gzip'));
  return { headers: { ...headers, 'Content-Encoding': 'gzip' }, body: await new Response(stream).blob() };
}

async function read(answer: Response): Promise<unknown> {
  if (answer.status === 204) return null;
  if (answer.headers.get('Content-Type')?.startsWith(JSON_TYPE)) return answer.json();
  // The sign-in page of some wireless network, or a proxy's own words: our server answers in JSON alone.
  throw new Offline(`an answer of status ${answer.status} that is not the server's`);
}

/** Whether an error means that the server cannot be reached. */
export function isUnreachable(error: unknown): boolean {
  // fetch says TypeError, a body cut off TypeError or SyntaxError, our patience TimeoutError.
  const names = ['TypeError', 'SyntaxError', 'TimeoutError', 'AbortError', 'NetworkError'];
  return (error instanceof Error || error instanceof DOMException) && names.includes(error.name);
}
