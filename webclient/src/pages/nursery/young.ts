/** Young in their nursery vessel with all that this phone knows of them; and their duties as the rows show them. */
import { saysIt, withAnswers } from '../../domain/answering';
import { dutyState } from '../../domain/duties';
import { aliveIn, wholeDays, type Alive } from '../../domain/nursery';
import { once } from '../../domain/twice';
import type { Rec, Store } from '../../store';
import { texts } from '../../texts';
import { nurseryAhead, nurseryKinds, nursery as words } from '../../texts/en/nursery';
import type { Words } from '../../texts/ways';
import type { Duty, NurseryTold } from '../derived';
import { numberOf, textOf } from '../holding';
import type { Duties } from '../waters';

/** The kinds of records that are kept of a batch. */
export const LOGGED = ['feeding', 'count', 'water_test', 'water_change', 'culture'] as const;
export type LoggedKind = (typeof LOGGED)[number];

export interface Young {
  readonly batch: Rec;
  /** The brood that they came of, its male and his tank, as far as they are known. */
  readonly brood: Rec | undefined;
  readonly fish: Rec | undefined;
  /** Whose hours are told; where no brood is named, the first tank of the house. */
  readonly tank: Rec | undefined;
  /** All that was logged of them and says something, in the order of time. */
  readonly log: readonly Rec[];
  readonly marks: readonly Rec[];
  readonly duties: readonly Duty[];
  readonly told: NurseryTold | undefined;
}

async function found(store: Store, id: string | null): Promise<Rec | undefined> {
  return id === null ? undefined : store.get(id);
}

/** Read all that is known of one batch. */
export async function youngOf(store: Store, batch: Rec): Promise<Young> {
  const brood = await found(store, textOf(batch, 'about'));
  const fish = await found(store, textOf(brood, 'about'));
  const [tank, tanks, lists, marks, kept, told] = await Promise.all([
    found(store, textOf(fish, 'about')), store.ofKind('tank'), Promise.all(LOGGED.map((kind) => store.about(batch.id, kind))), store.about(batch.id, 'mark'),
    store.derived<{ duties: Duty[] }>('duties', batch.id), store.derived<NurseryTold>('nursery', batch.id),
  ]);
  const log = lists.flat().filter((record) => saysIt(record) || saysIt(record, OTHERS)).sort(byTime);
  return { batch, brood, fish, tank: tank ?? tanks[0], log, marks, duties: isRunning(batch) ? (kept?.duties ?? []) : [], told };
}

/** What a record may say besides what answers a duty. */
const OTHERS: readonly string[] = ['dead', 'nitrite_mg_l', 'ph', 'temperature_c', 'salinity_psu', 'note'];

function byTime(a: Rec, b: Rec): number {
  return (textOf(a, 'at') ?? '') < (textOf(b, 'at') ?? '') ? -1 : 1;
}

/** A batch is running until somebody has said how it ended. */
export function isRunning(batch: Rec): boolean {
  return textOf(batch, 'ended') === null && batch.fields['gone'] !== true;
}

/** A batch's name, or that it has none. */
export function nameOf(batch: Rec | undefined): string {
  return textOf(batch, 'name') ?? words.unnamed;
}

/** Of that kind, what was logged. */
export function loggedOf(young: Pick<Young, 'log'>, kind: LoggedKind): Rec[] {
  return young.log.filter((record) => record.kind === kind);
}

/** How many are alive by what this phone knows, which may be newer than the server's word. */
export function aliveOf(young: Young): Alive | null {
  return aliveIn(young.batch, once(loggedOf(young, 'count')));
}

/** How old they are: since they hatched, where that is known, and else since they are in their vessel. */
export function ageOf({ batch, told }: Young, now: Date): { days: number; isSinceHatch: boolean } | null {
  const [hatched, at] = [told?.hatched_at ?? null, textOf(batch, 'at')];
  const from = hatched ?? at;
  // Where nothing tells when they hatched, the server reckons from when they came into their vessel.
  const isSinceHatch = hatched !== null && (at === null || Date.parse(hatched) !== Date.parse(at));
  return from === null ? null : { days: wholeDays(from, now), isSinceHatch };
}

/** What is owed to the young; the row is about them, by the name of their batch. */
function owedTo({ batch, tank, marks, duties }: Young): Duties {
  return { brood: batch, fish: batch, tank, marks, duties, words: withNursery(texts) };
}

/** The same, with what this phone has logged since taken as done. */
export function dutiesOf(young: Young, now: Date): Duties {
  return { ...owedTo(young), duties: withAnswers(young.duties, once(young.log), now, numberOf(young.batch, 'litres')) };
}

/** Of each kind those that are past or done and the next one, for the meals of a day are no list to do; and the one that was asked for. */
export function shownAt({ duties, marks }: Pick<Duties, 'duties' | 'marks'>, now: Date, asked: string | null = null): Duty[] {
  const isAhead = (duty: Duty): boolean => Date.parse(duty.due_at) > now.getTime() && dutyState(duty, marks).doneAt === null;
  const ahead = duties.filter(isAhead).sort((a, b) => (a.due_at < b.due_at ? -1 : 1));
  const next = [...new Set(ahead.map((duty) => duty.kind))].map((kind) => ahead.find((duty) => duty.kind === kind));
  return duties.filter((duty) => !ahead.includes(duty) || next.includes(duty) || duty.key === asked);
}

/** The duties as the batch's own page shows them: the undone first, and none of them says once more whose young they are. */
export function ownDuties(young: Young, now: Date, asked: string | null): Duties {
  const own = dutiesOf(young, now);
  const isDone = (duty: Duty): boolean => dutyState(duty, own.marks).doneAt !== null;
  const { tonight } = own.words;
  const duties = shownAt(own, now, asked).sort((a, b) => Number(isDone(a)) - Number(isDone(b)) || (a.due_at < b.due_at ? -1 : 1));
  return { ...own, duties, words: { ...own.words, tonight: { ...tonight, duty: { ...tonight.duty, forMale: () => '' } } } };
}

/** Of each running batch the duties, as Tonight shows them. */
export async function dutiesOfYoung(store: Store, batches: readonly Rec[]): Promise<Duties[]> {
  const all = await Promise.all(batches.map((batch) => youngOf(store, batch)));
  return all.filter((young) => young.duties.length > 0).map((young) => ({ ...owedTo(young), dueBy: (now) => shownAt(dutiesOf(young, now), now) }));
}

function withNursery(of: Words): Words {
  const { duty } = of.tonight;
  const own = { ...duty, ahead: { ...duty.ahead, ...nurseryAhead }, kinds: { ...duty.kinds, ...nurseryKinds }, forMale: (name: string) => words.forYoung(name || words.unnamed) };
  return { ...of, tonight: { ...of.tonight, duty: own } };
}
