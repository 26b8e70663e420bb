/** A file of readings on its way to the server: understood by its first piece, then sent piece by piece. */
import { base64 } from '../records/base64';
import { BEGINNING, type Chosen, type Form, type Imported, type Readings, type Spot, type Understood } from '../sync/readings';
import { temperature as texts } from '../texts/en/temperature';

const FIRST_PIECE_BYTES = 64 * 1024;
const MOST_WRONG = 300;
const NOTHING: Chosen = { delimiter: null, has_header: null, time_columns: null, value_column: null, unit: null, order: null, clock: 'tank' };

export interface Totals {
  readonly taken: number;
  readonly known: number;
  readonly wrongCount: number;
  readonly wrong: Imported['wrong'];
  readonly repeated: number;
  readonly skipped: number;
  readonly noons: number;
}
const NONE: Totals = { taken: 0, known: 0, wrongCount: 0, wrong: [], repeated: 0, skipped: 0, noons: 0 };

/** What a file is read by: a browser's file, or a test's. */
export type Source = Pick<File, 'name' | 'size' | 'slice'>;

/** The bytes of a piece in base64, as JSON can carry them. */
export async function packed(piece: Blob): Promise<string> {
  return base64(new Uint8Array(await piece.arrayBuffer()));
}

/** One file, from being chosen until it is taken. */
export class Importing {
  understood = $state.raw<Understood | null>(null);
  chosen = $state.raw<Chosen>(NOTHING);
  totals = $state.raw<Totals>(NONE);
  spot = $state.raw<Spot>(BEGINNING);
  state = $state<'choosing' | 'running' | 'stopped' | 'done'>('choosing');
  private form: Form | null = null;

  constructor(
    readonly file: Source,
    private readonly door: Readings,
    private readonly pieceBytes: number,
  ) {}

  /** The share that is done, from 0 to 1. */
  get share(): number {
    return this.file.size === 0 ? 1 : this.spot.offset / this.file.size;
  }

  /** Ask what the server understands of the file with these choices; an answer that was overtaken is let go. */
  async choose(choices: Partial<Chosen>): Promise<void> {
    const chosen = { ...this.chosen, ...choices };
    this.chosen = chosen;
    const piece = await packed(this.file.slice(0, FIRST_PIECE_BYTES));
    const understood = await this.door.preview(piece, this.file.size <= FIRST_PIECE_BYTES, chosen);
    if (this.chosen === chosen) this.understood = understood;
  }

  /** Send what is left of the file, until it is done or stopped. */
  async run(thermometer: string): Promise<void> {
    this.form ??= this.understood?.form ?? null;
    if (this.form === null) return;
    this.state = 'running';
    try {
      while (this.state === 'running' && this.spot.offset < this.file.size) await this.send(thermometer, this.form);
    } finally {
      this.state = this.spot.offset >= this.file.size ? 'done' : 'stopped';
    }
  }

  stop(): void {
    if (this.state === 'running') this.state = 'stopped';
  }

  private async send(thermometer: string, form: Form): Promise<void> {
    const { offset } = this.spot;
    const end = Math.min(this.file.size, offset + this.pieceBytes);
    const answer = await this.door.take(await packed(this.file.slice(offset, end)), end === this.file.size, thermometer, form, this.spot);
    // The server reads at least one record of so large a piece; if it did not, going on would never end.
    if (answer.spot.offset <= offset) throw new Error(texts.file.unreadable);
    this.totals = added(this.totals, answer);
    this.spot = answer.spot;
  }
}

/** The sum of what became of all pieces. */
export function added(totals: Totals, piece: Imported): Totals {
  return {
    taken: totals.taken + piece.taken, known: totals.known + piece.known, wrongCount: totals.wrongCount + piece.wrong_count,
    wrong: [...totals.wrong, ...piece.wrong].slice(0, MOST_WRONG), repeated: totals.repeated + piece.repeated, skipped: totals.skipped + piece.skipped, noons: totals.noons + piece.noons,
  };
}
