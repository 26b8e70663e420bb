/** A small server of one household that merges as the real one does, for tests without a network. */
import type { Answer, Change, Derived, Push, Row, Verdict } from '../../src/records/exchange';
import { merge, type StampedFields } from '../../src/records/merge';
import type { World } from './world';

export interface HouseholdServer {
  epoch: string;
  schema: number;
  rows: Map<string, Row>;
  derived: Derived[];
  /** Judges a change before it is merged; taken where it says nothing. */
  judge: (change: Change) => Partial<Verdict> | undefined;
  answer(push: Push): Answer;
  pushes: Push[];
}

const PAGE_ROWS = 1000;

/** An empty server in that world. */
export function newServer(world: World): HouseholdServer {
  let revision = 0;
  const server: HouseholdServer = {
    epoch: 'epoch-1',
    schema: 1,
    rows: new Map(),
    derived: [],
    judge: () => undefined,
    pushes: [],
    answer: (push) => {
      server.pushes.push(structuredClone(push));
      const verdicts = push.changes.map((change) => {
        const verdict = { id: change.id, verdict: 'taken' as const, reason: null, fields: [], ...server.judge(change) };
        if (verdict.verdict === 'taken' || verdict.verdict === 'later') {
          revision = takeChange(server.rows, change, verdict.fields, revision);
        }
        return verdict;
      });
      return { ...headOf(world, server), verdicts, ...pageAbove(server, push.cursor) };
    },
  };
  return server;
}

function takeChange(rows: Map<string, Row>, change: Change, left: readonly string[], revision: number): number {
  const fields = Object.entries(writtenIn(change)).filter(([name]) => !left.includes(name));
  const held = rows.get(change.id);
  const merged = merge(held?.fields ?? {}, Object.fromEntries(fields) as StampedFields);
  if (held !== undefined && JSON.stringify(merged) === JSON.stringify(held.fields)) return revision;
  const { id, kind, author, device } = change;
  rows.set(id, { id, kind, author, device, revision: revision + 1, fields: merged, concurrent: [] });
  return revision + 1;
}

interface Written {
  value?: unknown;
  stamp?: string;
  was?: string | null;
}

/** The fields of a change of either shape. */
export function writtenIn(change: Change | undefined): Record<string, Written> {
  const { fields, values, stamp, was } = change ?? {};
  const told = Object.entries(values ?? {}).map(([name, value]) => [name, { value, stamp, was: was?.[name] ?? null }]);
  return fields ?? Object.fromEntries(told);
}

function headOf(world: World, server: HouseholdServer) {
  const { epoch, schema } = server;
  return { now: new Date(world.nowMs).toISOString(), database: 'd-1', epoch, schema, recomputing: false };
}

function pageAbove(server: HouseholdServer, cursor: number) {
  const above = [...server.rows.values()].filter((row) => row.revision > cursor).sort((a, b) => a.revision - b.revision);
  const rows = structuredClone(above.slice(0, PAGE_ROWS));
  const derived = server.derived.filter((row) => row.revision > cursor);
  const last = Math.max(cursor, ...rows.map((row) => row.revision), ...derived.map((row) => row.revision));
  const more = above.length > PAGE_ROWS;
  return { rows, derived, cursor: last, more, ...(more ? { upto: above.at(-1)?.revision ?? last } : {}) };
}
