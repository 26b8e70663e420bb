/** The addresses of the client and the page each one shows; all but Tonight are loaded when they are asked for. */
import type { Component } from 'svelte';
import { late } from './late';
import Tonight from './pages/Tonight.svelte';

export type Destination = 'tonight' | 'broods' | 'nursery' | 'household' | 'look' | null;
export interface Route {
  readonly name: keyof typeof pages;
  /** What of the address belongs to the page: a brood's id, a step. */
  readonly id: string | null;
  /** Which destination is marked as the present one. */
  readonly destination: Destination;
}
/** A page; one that needs nothing of its address takes nothing. */
export type Page = Component<{ id: string | null }> | Component<Record<string, never>>;

const pages = {
  tonight: (): Page => Tonight,
  look: async (): Promise<Page> => (await import('./pages/Look.svelte')).default,
  broods: async (): Promise<Page> => (await import('./pages/Broods.svelte')).default,
  brood: async (): Promise<Page> => (await import('./pages/Brood.svelte')).default,
  photo: async (): Promise<Page> => (await import('./pages/Photo.svelte')).default,
  nursery: async (): Promise<Page> => (await import('./pages/nursery/Nursery.svelte')).default,
  newBatch: async (): Promise<Page> => (await import('./pages/nursery/NewBatch.svelte')).default,
  batch: async (): Promise<Page> => (await import('./pages/nursery/Batch.svelte')).default,
  start: async (): Promise<Page> => (await import('./pages/Start.svelte')).default,
  household: async (): Promise<Page> => (await import('./pages/Household.svelte')).default,
  temperature: async (): Promise<Page> => (await import('./pages/Temperature.svelte')).default,
  attention: async (): Promise<Page> => (await import('./pages/Attention.svelte')).default,
  history: async (): Promise<Page> => (await import('./pages/History.svelte')).default,
  setup: async (): Promise<Page> => (await import('./pages/Setup.svelte')).default,
  join: async (): Promise<Page> => (await import('./pages/Join.svelte')).default,
  recover: async (): Promise<Page> => (await import('./pages/Recover.svelte')).default,
  signIn: async (): Promise<Page> => (await import('./pages/SignIn.svelte')).default,
  nowhere: async (): Promise<Page> => (await import('./pages/Nowhere.svelte')).default,
};

const ADDRESSES: readonly (readonly [RegExp, Route['name'], Destination])[] = [
  [/^\/$/, 'tonight', 'tonight'],
  [/^\/look(?:\/([\w-]+))?\/?$/, 'look', 'look'],
  [/^\/broods\/?$/, 'broods', 'broods'],
  [/^\/brood\/([\w-]+)\/?$/, 'brood', 'broods'],
  [/^\/photo\/([\w-]+)\/?$/, 'photo', 'broods'],
  [/^\/nursery\/?$/, 'nursery', 'nursery'],
  [/^\/nursery\/new(?:\/([\w-]+))?\/?$/, 'newBatch', 'nursery'],
  [/^\/nursery\/([\w-]+)\/?$/, 'batch', 'nursery'],
  [/^\/start(?:\/(tank|male))?\/?$/, 'start', null],
  [/^\/household\/?$/, 'household', 'household'],
  [/^\/tank\/([\w-]+)\/temperature\/?$/, 'temperature', 'household'],
  [/^\/attention\/?$/, 'attention', 'household'],
  [/^\/history(?:\/([\w-]+))?\/?$/, 'history', null],
  [/^\/setup\/?$/, 'setup', null],
  [/^\/join\/?$/, 'join', null],
  [/^\/recover\/?$/, 'recover', null],
  [/^\/sign-in\/?$/, 'signIn', null],
];

/** The route of a path; an unknown path has a page of its own. */
export function routeOf(path: string): Route {
  for (const [shape, name, destination] of ADDRESSES) {
    const match = shape.exec(path);
    if (match) return { name, id: match[1] ?? null, destination };
  }
  return { name: 'nowhere', id: null, destination: null };
}

/** The component of a route: at once for what the first load holds, otherwise a promise. */
export function pageOf(route: Route): Page | Promise<Page> {
  const page = pages[route.name]();
  return page instanceof Promise ? late(page) : page;
}

/** The address of the sign-in that leads on to where the person wanted to go. */
export function signInFor(wanted: string): string {
  return wanted === '/' ? '/sign-in' : `/sign-in?to=${encodeURIComponent(wanted)}`;
}

/** Where a sign-in leads on to: a page of ours that was asked for, else Tonight. */
export function wantedIn(query: string): string {
  const wanted = new URLSearchParams(query).get('to') ?? '/';
  return routeOf(wanted.split('?')[0] ?? '/').name === 'nowhere' ? '/' : wanted;
}
