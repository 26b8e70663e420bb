/**
 * Simulated phones driven by lines of JSON on stdin, each answered by one line on stdout: `node tests/machine.mjs`.
 * Every answer is {"ok": true, …} or {"ok": false, "error": name, "message"}. True time stands still but for `time`.
 *
 *   {"op":"merge","a":fields,"b":fields}            → {"merged":fields}, fields being {name: {"value","stamp"}}
 *   {"op":"canonical","value":json}                 → {"text"}
 *   {"op":"time","now":ms}                          sets the true time, in milliseconds since 1970
 *   {"op":"new_device","phone":key,"seed":int,"person":{"id","name","role","household":{"id","name"}}} → {"device"}
 *   {"op":"clock","phone":key,"ahead":ms}           how far the phone's wall clock is ahead of true time
 *   {"op":"restart","phone":key}                    closes the browser and opens it again
 *   {"op":"enter","phone":key,"person":…}           somebody signs in
 *   {"op":"write","phone":key,"kind","fields":{name: value}}   → {"record"}; "at" left out is now by the phone's clock
 *   {"op":"edit","phone":key,"id","fields"}         → {"record"}
 *   {"op":"gone","phone":key,"id"}                  → {"record"}, an edit of `gone`
 *   {"op":"undo","phone":key,"id"}
 *   {"op":"outbox","phone":key,"asking"?:bool,"limit"?:int}    → {"batch":int,"request"}: the body of the next
 *        POST /api/v1/sync, its entries dated by true time and marked as sent; `asking` carries no changes
 *   {"op":"take","phone":key,"batch":int,"answer"}  → {"taken":{"settled","refused","clock","more","left","recomputing"}};
 *        an answer may be taken again, late, or never
 *   {"op":"unreadable","phone":key,"batch":int,"reason"}       the server answered 400 to that batch
 *   {"op":"hold","phone":key}                       → {"records":[{id,kind,author,device,revision,fields,concurrent,waiting}],
 *        "writes":[entries of the outbox]}
 *   {"op":"waiting"|"attention"|"agreement"|"self","phone":key} → {"value"}
 *   {"op":"derived","phone":key,"kind"}             → {"value":[{"about","body"}]}
 *   {"op":"discard","phone":key}                    throws the phone away with all that it holds
 *   {"op":"mend","phone":key,"id":int,"fields"} · {"op":"let_go","phone":key,"id":int}
 */
import { createInterface } from 'node:readline';
import { canonical, type Json } from '../../src/records/json';
import type { Answer } from '../../src/records/exchange';
import { merge, type StampedFields } from '../../src/records/merge';
import { type Fields, type Person } from '../../src/store';
import { personOf } from '../../src/sync/runner';
import type { Me } from '../../src/sync';
import { discard, newPhone, nextPush, restart, type Phone, type World } from './world';

type Asked = Record<string, unknown> & { op: string };
type Act = (asked: Asked, phone: Phone) => Promise<object>;

const world: World = { nowMs: Date.UTC(2026, 10, 25, 20) };
const phones = new Map<string, Phone>();

const ACTS: Record<string, Act> = {
  restart: async (_asked, phone) => restart(world, phone).then(() => ({})),
  enter: async ({ person }, phone) => phone.store.sync.enter(readPerson(person)).then(() => ({})),
  clock: async ({ ahead }, phone) => {
    phone.aheadMs = Number(ahead);
    return {};
  },
  write: async ({ kind, fields }, phone) => ({ record: await phone.store.add(String(kind), fields as Fields) }),
  edit: async ({ id, fields }, phone) => ({ record: await phone.store.edit(String(id), fields as Fields) }),
  gone: async ({ id }, phone) => ({ record: await phone.store.edit(String(id), { gone: true }) }),
  undo: async ({ id }, phone) => phone.store.undo(String(id)).then(() => ({})),
  outbox: async ({ asking, limit }, phone) => {
    const { request } = await nextPush(world, phone, asking === true, limit as number | undefined);
    return { batch: phone.batches.length - 1, request };
  },
  take: async ({ batch, answer }, phone) => {
    const { kinds: _kinds, stamps: _stamps, ...taken } = await phone.store.sync.take(batchOf(phone, batch), answer as Answer);
    return { taken };
  },
  unreadable: async ({ batch, reason }, phone) =>
    phone.store.sync.refuse(batchOf(phone, batch), String(reason)).then(() => ({})),
  hold: async (_asked, phone) => {
    const { records, writes } = JSON.parse(await (await phone.store.exportAll()).text()) as Record<string, unknown>;
    return { records, writes };
  },
  waiting: async (_asked, phone) => ({ value: await phone.store.waiting() }),
  attention: async (_asked, phone) => ({ value: await phone.store.attention() }),
  agreement: async (_asked, phone) => ({ value: await phone.store.sync.agreement() }),
  self: async (_asked, phone) => ({ value: (await phone.store.self()) ?? null }),
  derived: async ({ kind }, phone) => ({ value: await phone.store.derivedOf(String(kind)) }),
  discard: async ({ phone: key }, phone) => {
    phones.delete(String(key));
    return discard(phone).then(() => ({}));
  },
  mend: async ({ id, fields }, phone) => ({ record: await phone.store.mend(Number(id), fields as Fields) }),
  let_go: async ({ id }, phone) => phone.store.letGo(Number(id)).then(() => ({})),
};

/** Answer lines until there are no more. */
export async function answerLines(): Promise<void> {
  for await (const line of createInterface({ input: process.stdin })) {
    process.stdout.write(`${JSON.stringify(await answer(line))}\n`);
  }
  await Promise.all(Array.from(phones.values(), (phone) => phone.store.close()));
}

async function answer(line: string): Promise<object> {
  try {
    return { ok: true, ...(await carryOut(JSON.parse(line) as Asked)) };
  } catch (error) {
    const { name, message } = error as Error;
    return { ok: false, error: name, message };
  }
}

async function carryOut(asked: Asked): Promise<object> {
  if (asked.op === 'merge') return { merged: merge(asked['a'] as StampedFields, asked['b'] as StampedFields) };
  if (asked.op === 'canonical') return { text: canonical(asked['value'] as Json) };
  if (asked.op === 'time') return { now: (world.nowMs = Number(asked['now'])) };
  if (asked.op === 'new_device') return newDevice(asked);
  const phone = phones.get(String(asked['phone']));
  const act = ACTS[asked.op];
  if (phone === undefined || act === undefined) throw new Error(`no such phone or op: ${JSON.stringify(asked)}`);
  return act(asked, phone);
}

async function newDevice({ phone: key, seed, person }: Asked): Promise<object> {
  const phone = await newPhone(world, Number(seed), readPerson(person));
  phones.set(String(key), phone);
  return { device: phone.store.sync.device };
}

function readPerson(person: unknown): Person {
  const { household, ...rest } = person as Me['person'] & { household: Me['household'] };
  return personOf({ person: rest, household, epoch: '', push_key: '' });
}

function batchOf(phone: Phone, batch: unknown) {
  const found = phone.batches[Number(batch)];
  if (found === undefined) throw new Error(`no such batch: ${String(batch)}`);
  return found;
}
