/** Asking the server by its own types, and its refusals; its single doors are loaded when the first of them is opened. */
import type { components } from '../records/api';
import type { Api } from './doors';
import type { Ask, FetchJson } from './http';

type Schemas = components['schemas'];
export type Me = Schemas['Me'];
export type Invitation = Schemas['Invitation'];
export type InvitationLink = Schemas['InvitationLink'];
export type Invited = Schemas['Invited'];
export type Device = Schemas['Device'];
export type Recovered = Schemas['Recovered'];
export type Glance = Schemas['Glance'];
export type Assumptions = Schemas['Assumptions'];
export type Dependence = Schemas['Dependence'];
export type Role = Schemas['NewInvitation']['role'];
type Where = Record<string, string[]> | null;

/** The server cannot be reached, or something else answered in its place. */
export class Offline extends Error {
  override readonly name = 'Offline';
}

/** Who logs on this phone at present: whoever asks says so. */
export let logging: () => Promise<string | undefined> = async () => undefined;

/** How to learn who logs: set once, where the parts are put together. */
export function askAs(who: typeof logging): void {
  logging = who;
}

/** The server refused; `message` is for people. */
export class Refused extends Error {
  override readonly name = 'Refused';
  constructor(
    readonly status: number,
    readonly code: string,
    message: string,
    readonly where: Where,
  ) {
    super(message);
  }
}

/** The answer's body; Refused for every status that is not a success. */
export async function askFor<T>(fetching: FetchJson, path: string, how?: Ask): Promise<T> {
  const { status, body } = await fetching(`/api/v1/${path}`, how);
  if (status >= 200 && status < 300) return body as T;
  throw refusalOf(status, body);
}

/** Whether the server says that who asks is not signed in. */
export function isSignedOut(error: unknown): boolean {
  return error instanceof Refused && error.status === 401;
}

/** Whether the server says that who asks has left the household, or was removed from it. */
export function hasLeft(error: unknown): error is Refused {
  return isSignedOut(error) && (error as Refused).code === 'no_longer_member';
}

/** The server's own words on why not. */
export function refusalOf(status: number, body: unknown): Refused {
  const error = (body as { error?: { code?: string; message?: string; where?: Where } } | null)?.error;
  return new Refused(status, error?.code ?? 'unknown', error?.message ?? `status ${status}`, error?.where ?? null);
}

/** The doors that `load` brings. */
export function laterApi(load: () => Promise<Api>): Api {
  let loading: Promise<Api> | undefined;
  const open = (name: string) => async (...given: unknown[]) => {
    const door = (await (loading ??= load()))[name as keyof Api] as (...given: unknown[]) => Promise<unknown>;
    return door(...given);
  };
  return new Proxy({} as Api, { get: (_none, name) => open(String(name)) });
}
