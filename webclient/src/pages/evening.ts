/** The evening as Tonight shows it: who holds, what is to be done and by whom, what is loose, what is unsettled. */
import type { Json, Rec, Store } from '../store';
import { late } from '../late';
import { texts } from '../texts';
import type { Words } from '../texts/ways';
import { agoWords, hourWords, momentWords, nightName } from '../ui/dates';
import { lookWords, lowerFirst, upperFirst } from '../ui/said';
import type { CardView, CatchView, DutyView } from '../ui/views';
import { readAhead } from './ahead';
import type { Duty, People } from './derived';
import { dutyState, isForTonight, isLooseYoung, putOffUntil } from '../domain/duties';
import { atOf, holdings, saysSomething, textOf, type Holding } from './holding';
import { lampsOn, nightOf, type Lamps } from '../domain/nights';
import { lampsOf } from './lamps';
import { isOfWater, watersOf, type Duties } from './waters';

/** Who the people are, and which of them holds this phone. */
export interface Knowing {
  readonly people: People | undefined;
  readonly self: string | null;
}
export interface Evening extends Knowing {
  readonly holding: readonly Holding[];
  /** Tanks whose water wants something. */
  readonly waters: readonly Duties[];
  /** What is still asked for of broods that are over. */
  readonly owed: readonly Duties[];
  /** Young in their nursery vessels, for which something is to be done. */
  readonly young?: readonly Duties[];
  readonly unsure: readonly Rec[];
  readonly tanks: readonly Rec[];
  readonly fish: readonly Rec[];
  readonly notesLater: readonly string[];
  /** Photos were put off until day. */
  readonly photosLater?: boolean;
  /** Others log on this phone as well. */
  readonly isShared: boolean;
}

/** Read all that Tonight shows. */
export async function eveningOf(store: Store): Promise<Evening> {
  const [ahead, people, self, notesLater, photosLater] = await Promise.all([
    readAhead(store), store.derived<People>('people', null), store.self(), store.setting<string[]>('notes_later'), store.setting<Json[]>('photos_later'),
  ]);
  const [tanks, fish] = await Promise.all([ahead.ofKind('tank'), ahead.ofKind('fish')]);
  const [holding, waters, young, looks] = await Promise.all([holdings(ahead), watersOf(store, tanks), youngIn(store), Promise.all(tanks.map((tank) => store.about(tank.id, 'look')))]);
  return { holding, waters, young, owed: await owedLately(ahead), unsure: looks.flat().filter(saysSomething), tanks, fish, people, self: self?.person ?? null, notesLater: notesLater ?? [], photosLater: !!photosLater?.length, isShared: self?.isShared === true };
}

/** For so long after its end something is asked for on account of a brood, as the server plans it. */
const OWED_MS = 42 * 86_400_000;

async function owedLately(store: Store): Promise<readonly Duties[]> {
  const over = (await store.ofKind('brood')).filter((brood) => Date.parse(textOf(brood, 'ended_at') ?? '') > Date.now() - OWED_MS);
  return over.length > 0 ? (await late(import('./owed'))).owedOf(store, over) : [];
}

async function youngIn(store: Store): Promise<readonly Duties[]> {
  const batches = (await store.ofKind('batch')).filter((batch) => textOf(batch, 'ended') === null);
  return batches.length > 0 ? (await late(import('./nursery/young'))).dutiesOfYoung(store, batches) : [];
}

/** Loose young that nobody has said to be safe yet: the look that saw them, or the duty that says so. */
export function looseFry(holding: Holding): { at: Date; duty: string | null } | null {
  const own = new Set<unknown>(holding.duties.filter(isLooseYoung).map((one) => one.key));
  const isHandled = ({ fields }: Rec): boolean => fields['what'] === 'loose_fry_handled' || (fields['what'] === 'done' && own.has(fields['duty']));
  const handled = Math.max(0, ...holding.marks.filter(isHandled).map((mark) => atOf(mark).getTime()));
  const seen = holding.looks.findLast((look) => look.fields['loose_fry'] === 'seen' && atOf(look).getTime() > handled);
  const duty = holding.duties.find((one) => isLooseYoung(one) && dutyState(one, holding.marks).doneAt === null);
  if (seen) return { at: atOf(seen), duty: duty?.key ?? null };
  return duty && Date.parse(duty.due_at) > handled ? { at: new Date(duty.due_at), duty: duty.key } : null;
}

function personName(id: string | null, people: People | undefined): string {
  return people?.people.find((person) => person.id === id)?.name ?? texts.tonight.duty.somebody;
}

function doneWords(state: ReturnType<typeof dutyState>, evening: Knowing, now: Date): string | null {
  if (state.doneAt === null) return null;
  const when = agoWords(new Date(state.doneAt), now);
  const words = texts.tonight.duty;
  // A look does its duty by itself: then nobody has said so.
  if (state.doneBy === null) return words.doneAlone(when);
  if (state.isSkipped) return words.skipped(state.doneBy === evening.self ? null : personName(state.doneBy, evening.people), state.why);
  return state.doneBy === evening.self ? words.doneMe(when) : words.doneBy(personName(state.doneBy, evening.people), when);
}

function isOfTonight(duty: Duty, lamps: Lamps, now: Date): boolean {
  return duty.night === null || duty.night === nightOf(lamps, now);
}

type DutyWords = Words['tonight']['duty'];

function kindOf(duty: Duty, words: DutyWords): DutyWords['other'] {
  return words.kinds[duty.kind] ?? words.other;
}

function titleOf(duty: Duty, isTonight: boolean, words: DutyWords): string {
  const ahead = words.ahead[duty.kind];
  return !isTonight && ahead ? ahead : kindOf(duty, words).title;
}

function dueWords(duty: Duty, lamps: Lamps, now: Date): string {
  const due = new Date(duty.due_at);
  if (isOfTonight(duty, lamps, now)) return hourWords(due, lamps.zone);
  if (due < now) return texts.tonight.duty.late;
  return momentWords(due, lamps.zone, now);
}

/** Who has it in hand, said to both where two took it without knowing of each other. */
function holderWords({ takenBy, claims }: ReturnType<typeof dutyState>, { people, self }: Knowing): string | null {
  const words = texts.tonight.duty;
  if (takenBy === null) return null;
  const others = claims.slice(1).map((id) => personName(id, people)).join(', ');
  if (takenBy === self) return words.takenMe(others);
  return (claims.includes(self ?? '') ? words.takenFirst : words.taken)(personName(takenBy, people));
}

/** One duty as its row shows it. */
export function dutyView(duty: Duty, holding: Duties, evening: Knowing, now: Date): DutyView {
  const state = dutyState(duty, holding.marks);
  const words = holding.words.tonight.duty;
  const kind = kindOf(duty, words);
  const isMine = state.takenBy !== null && state.takenBy === evening.self;
  const lamps = lampsOf(holding.tank);
  const putOff = putOffUntil(state, evening.self, now);
  return {
    key: duty.key, told: duty, brood: holding.brood.id, title: titleOf(duty, isOfTonight(duty, lamps, now), words), text: kind.text ?? '', not: kind.not ?? '', time: dueWords(duty, lamps, now), zone: lamps.zone,
    male: words.forMale(textOf(holding.fish, 'name') ?? '', textOf(holding.tank, 'name') ?? ''),
    holder: holderWords(state, evening), isMine, isFree: state.takenBy === null, done: doneWords(state, evening, now),
    later: putOff && texts.tonight.duty.putOff(hourWords(putOff, lamps.zone)),
  };
}

/** The duties of this evening, the undone first. */
export function dutiesTonight(evening: Evening, now: Date): DutyView[] {
  const all: readonly Duties[] = [...evening.waters, ...(evening.young ?? []), ...evening.owed, ...evening.holding];
  const due = all.flatMap((holding) => {
    const lamps = lampsOf(holding.tank);
    const ends = lampsOn(lamps, nightOf(lamps, now));
    return (holding.dueBy?.(now) ?? holding.duties).filter((duty) => !isLooseYoung(duty) && isForTonight(duty, now, ends)).map((duty) => ({ duty, holding }));
  });
  // Water that runs away wants somebody before anything that has its hour.
  const rows = due.sort((a, b) => Number(isOfWater(b.duty)) - Number(isOfWater(a.duty)) || a.duty.due_at.localeCompare(b.duty.due_at)).map(({ duty, holding }) => dutyView(duty, holding, evening, now));
  return [...rows.filter((row) => !row.done), ...rows.filter((row) => row.done)];
}

function catchHour({ time, place }: CatchView): string {
  return place === null ? time : texts.frame.when.inZone(time, place);
}

/** The night to catch that comes first, in words; nothing where none is named or it is tonight. */
export function nextCatch(cards: readonly CardView[]): string | null {
  const named = cards.filter((card) => card.catch && !card.catch.isPast).sort((a, b) => (a.catch?.night ?? '').localeCompare(b.catch?.night ?? ''));
  const next = named[0];
  return next?.catch && !next.catch.isTonight ? next.words.tonight.glance.next(next.name, nightName(next.catch.night, next.tonight), catchHour(next.catch)) : null;
}

function catchTonight({ name, words }: CardView, night: CatchView): string {
  const { catchNow, catch: later } = words.tonight.glance;
  return night.isNow ? catchNow(name) : later(name, catchHour(night));
}

/** The one sentence that answers whether anything is to be done; `loose` are the words of an alarm. */
export function glance(cards: readonly CardView[], undone: readonly DutyView[], loose: Words['tonight'] | null): string {
  const words = texts.tonight.glance;
  if (loose) return loose.glance.fry;
  const tonight = cards.find((card) => card.catch?.isTonight);
  if (tonight?.catch) return catchTonight(tonight, tonight.catch);
  const past = cards.find((card) => card.catch?.isPast);
  if (past) return past.words.tonight.glance.past(past.name);
  const first = undone[0];
  return first ? words.some(undone.length, lowerFirst(first.title)) : words.nothing;
}

/** The looks for which a note was promised in the dark. */
export function notesWaiting(evening: Evening, now: Date): { brood: string; look: string; words: string }[] {
  return evening.holding.flatMap((holding) => holding.looks.filter((look) => evening.notesLater.includes(look.id)).map((look) => ({
    brood: holding.brood.id, look: look.id,
    words: texts.tonight.noteLater.text(momentWords(atOf(look), lampsOf(holding.tank).zone, now), lookWords(look.fields, holding.words.look.said)),
  })));
}

/** A look at one of them, in words, for asking whose it was. */
export function unsureWords(look: Rec, tank: Rec | undefined, now: Date): string {
  return upperFirst(texts.tonight.unsure.text(momentWords(atOf(look), lampsOf(tank).zone, now), lookWords(look.fields)));
}
