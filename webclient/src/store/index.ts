/** The phone's own copy of the household's records: what pages and sync may ask of it. */
import type { Said } from '../records/exchange';
import type { Json } from '../records/json';
import type { Fields } from '../records/kinds';
import { agreement } from './agreement';
import type { Attention } from './attention';
import { connect, type Connection } from './connection';
import { BROWSER, nameDevice, self, type Inside, type Self, type Surroundings } from './device';
import type { Taken } from './incoming';
import { joined, openNews, type Forget, type Listener, type News } from './news';
import type { Batch } from './outgoing';
import type { PhotoStore } from './photos';
import { about, derived, derivedOf, get, ofKind, shown, type Choice, type Rec } from './reading';
import type { ClockReading } from './redating';
import type { Agreement, Member, Person, StoredRecord } from './schema';
import { keepSetting, settingOf } from './settings';
import { countWaiting } from './waiting';
import { add, edit, undo } from './writing';
import type { FieldWriting } from './writings';

export type { Json } from '../records/json';
export type { Fields, Kind, FieldsOf } from '../records/kinds';
export type { Attention, Batch, Choice, ClockReading, Forget, Listener, Member, Person, Rec, Surroundings, Taken };
export { StoreTrouble, type TroubleName } from './trouble';
export type { FieldWriting } from './writings';

export interface Store {
  get(id: string): Promise<Rec | undefined>;
  ofKind(kind: string, choice?: Choice): Promise<Rec[]>;
  about(id: string, kind: string, choice?: Choice): Promise<Rec[]>;
  derived<T>(kind: string, about: string | null): Promise<T | undefined>;
  derivedOf<T>(kind: string): Promise<{ about: string | null; body: T }[]>;
  /** Resolves when record and outbox entry are durable, both or neither; a missing `at` becomes now. */
  add(kind: string, fields: Fields): Promise<Rec>;
  edit(id: string, fields: Fields): Promise<Rec>;
  undo(id: string): Promise<void>;
  self(): Promise<Self | undefined>;
  /** Those who may log on this phone, in the order in which they came. */
  members(): Promise<Member[]>;
  /** Let that member log from now on. */
  choose(person: string): Promise<void>;
  setting<T extends Json>(name: string): Promise<T | undefined>;
  keep(name: string, value: Json): Promise<void>;
  /** Keep a setting of which no page shows anything while it changes: nobody is told. */
  jot(name: string, value: Json): Promise<void>;
  waiting(person?: string): Promise<number>;
  attention(): Promise<Attention[]>;
  /** Records that two people changed without knowing of each other, as far as who logs here may settle them. */
  apart(): Promise<Rec[]>;
  /** What this phone itself knows of how a record's fields were written. */
  writings(id: string): Promise<FieldWriting[]>;
  /** Send a refused write again, mended; the values of `without` are left out. */
  mend(id: number, fields: Fields, without?: readonly string[]): Promise<Rec>;
  /** Let a refused write go; what comes back takes that back. */
  letGo(id: number): Promise<() => Promise<void>>;
  exportUnsynced(): Promise<Blob>;
  exportAll(): Promise<Blob>;
  /** Photos, which are asked for when the first page stands. */
  photos(): Promise<PhotoStore>;
  /** Take everything off this phone, at a person's word alone. */
  clearPhone(): Promise<void>;
  /** Tells of changes made here, in other tabs and by sync. */
  onChange(listener: Listener): Forget;
  /** What sync alone may do. */
  readonly sync: SyncSide;
  close(): Promise<void>;
}

export interface SyncSide {
  readonly device: string;
  readonly session: string;
  enter(person: Person): Promise<void>;
  /** What the server says of somebody who shares the phone. */
  meet(person: Person): Promise<void>;
  /** The server knows no session of his here any more. */
  noteOut(person: string): Promise<void>;
  /** He has left the household: what waits of his needs attention, for that reason. */
  strand(person: string, reason: string): Promise<void>;
  /** He signed himself out on this phone. */
  leave(person: string): Promise<void>;
  /** Whose turns a round has: who logs now, then the others who have something waiting and may send it. */
  turns(): Promise<string[]>;
  agreement(): Promise<Agreement>;
  /** The next push of that person's; of who logs now, if nobody is named. */
  nextBatch(reading: ClockReading | null, limit?: number, person?: string): Promise<Batch>;
  take(batch: Batch, answer: Said): Promise<Taken>;
  /** The server would not even read that batch: its entries need attention. */
  refuse(batch: Batch, reason: string): Promise<void>;
  /** Tells of what a person wrote in this tab. */
  onWrite(listener: () => void): Forget;
  readonly news: News;
}

/** Open the store; the browser's own clocks and randomness unless others are handed in. */
export async function openStore(surroundings: Surroundings = BROWSER): Promise<Store> {
  const connection = connect(surroundings.name);
  const device = await nameDevice(connection, surroundings.random);
  const session = Array.from(surroundings.random(8), (byte) => byte.toString(36)).join('-');
  const inside = { connection, surroundings, device, session };
  const news = openNews(surroundings.name);
  const writes = new Set<() => void>();
  return { ...reads(connection, inside), ...acts(inside, news, writes), sync: syncSide(inside, news, writes) };
}

/** Asked for when the first page stands: the first card comes before it. */
const behind = () => import('./behind');

function reads(connection: Connection, inside: Inside) {
  return {
    get: (id: string) => get(connection, id),
    ofKind: (kind: string, choice?: Choice) => ofKind(connection, kind, choice),
    about: (id: string, kind: string, choice?: Choice) => about(connection, id, kind, choice),
    derived: <T>(kind: string, of: string | null) => derived<T>(connection, kind, of),
    derivedOf: <T>(kind: string) => derivedOf<T>(connection, kind),
    setting: <T extends Json>(name: string) => settingOf<T>(inside, name),
    self: () => self(inside),
    members: async () => (await behind()).members(inside),
    waiting: (person?: string) => countWaiting(inside, person),
    attention: async () => (await behind()).attention(inside),
    apart: async () => (await behind()).apart(inside),
    writings: async (id: string) => (await behind()).writings(inside, id),
    exportUnsynced: async () => (await behind()).exportUnsynced(inside),
    exportAll: async () => (await behind()).exportAll(inside),
  };
}

function acts(inside: Inside, news: News, writes: Set<() => void>) {
  const told = async (record: Promise<StoredRecord>): Promise<Rec> => {
    const written = await record;
    news.tell([written.kind]);
    writes.forEach((listener) => listener());
    return shown(written);
  };
  return {
    add: (kind: string, fields: Fields) => told(add(inside, kind, fields)),
    edit: (id: string, fields: Fields) => told(edit(inside, id, fields)),
    undo: async (id: string) => void (await told(undo(inside, id))),
    mend: async (id: number, fields: Fields, without?: readonly string[]) => told((await behind()).mend(inside, id, fields, without)),
    letGo: async (id: number) => (await behind()).lettingGo(inside, id, told),
    keep: async (name: string, value: Json) => {
      await keepSetting(inside, name, value);
      news.tell(['settings']);
    },
    jot: (name: string, value: Json) => keepSetting(inside, name, value),
    photos: async () => (await import('./photos')).openPhotos(inside, news, told),
    choose: async (person: string) => {
      await (await behind()).choose(inside, person);
      news.tell(['self']);
    },
    clearPhone: async () => {
      const { kindsHeld, clearPhone } = await behind();
      const kinds = ['self', ...(await kindsHeld(inside))];
      await clearPhone(inside);
      news.tell(kinds);
    },
    onChange: news.onChange,
    close: async () => {
      news.close();
      await inside.connection.close();
    },
  };
}

function syncSide(inside: Inside, news: News, writes: Set<() => void>): SyncSide {
  return {
    device: inside.device,
    session: inside.session,
    enter: async (person) => {
      if (await (await behind()).enter(inside, person)) news.tell(['self']);
    },
    meet: async (person) => {
      if (await (await behind()).meet(inside, person)) news.tell(['self']);
    },
    noteOut: async (person) => {
      if (await (await behind()).noteOut(inside, person)) news.tell(['self']);
    },
    strand: async (person, reason) => {
      await (await behind()).strand(inside, person, reason);
      news.tell(['self', 'attention']);
    },
    leave: async (person) => {
      await (await behind()).leave(inside, person);
      news.tell(['self']);
    },
    turns: async () => (await behind()).turns(inside),
    agreement: () => inside.connection.read(['meta'], agreement),
    nextBatch: async (reading, limit, person) => (await behind()).nextBatch(inside, reading, limit, person),
    take: async (batch, answer) => {
      const taken = await (await behind()).takeAnswer(inside, batch, answer);
      news.tell(taken.kinds);
      return taken;
    },
    refuse: async (batch, reason) => {
      await (await behind()).refuseBatch(inside, batch, reason);
      news.tell(['attention']);
    },
    onWrite: (listener) => joined(writes, listener),
    news,
  };
}
