/**
 * The verdict at the glass: what a finding means, looked up in what the server foretold of the looks to come. Pure.
 *
 * A look has several parts and the forecast foretells each alone; the verdict is that of the part which says most, the
 * one whose chances differ most from what was expected at that look.
 */
import { STATES, type Chances } from './forecast';
import { nightOf, type Lamps } from './nights';

const NEAR_MS = 12 * 3_600_000;

export interface ForetoldFinding extends Chances {
  readonly part: string;
  readonly value: string;
  readonly likelihood: number;
}
export interface ForetoldLook<Finding extends ForetoldFinding> {
  readonly night: string;
  readonly at: string;
  readonly light: string;
  readonly findings: readonly Finding[];
}

/** The most telling of the findings, as it was foretold; null where nothing was foretold of such a look. */
export function verdictOf<Finding extends ForetoldFinding>(
  foretold: readonly ForetoldLook<Finding>[],
  seen: Readonly<Record<string, unknown>>,
  inColour: boolean,
  at: Date,
  lamps: Lamps,
): Finding | null {
  const look = lookAt(foretold, inColour ? 'daylight' : 'red', at, lamps);
  const found = (look?.findings ?? []).filter((finding) => seen[finding.part] === finding.value);
  const telling = found.map((finding) => ({ finding, apart: apart(finding, expected(look?.findings ?? [], finding.part)) }));
  return telling.sort((one, other) => other.apart - one.apart)[0]?.finding ?? null;
}

/** The look foretold for that night under that light, or else the one nearest in time, up to half a day. */
function lookAt<Finding extends ForetoldFinding>(
  foretold: readonly ForetoldLook<Finding>[],
  light: string,
  at: Date,
  lamps: Lamps,
): ForetoldLook<Finding> | undefined {
  const night = nightOf(lamps, at);
  const away = (look: ForetoldLook<Finding>): number => Math.abs(Date.parse(look.at) - at.getTime());
  const likely = foretold.filter((look) => look.light === light && (look.night === night || away(look) <= NEAR_MS));
  return [...likely].sort((one, other) => Number(other.night === night) - Number(one.night === night) || away(one) - away(other))[0];
}

/** The chances before anything is seen: those after each value, weighed by how likely it is. */
function expected(findings: readonly ForetoldFinding[], part: string): Chances {
  const values = findings.filter((finding) => finding.part === part);
  const sums = STATES.map((state) => [state, values.reduce((sum, finding) => sum + finding.likelihood * finding[state], 0)]);
  return Object.fromEntries(sums) as Record<keyof Chances, number>;
}

/** Half the sum of differences: the share of chance that moved. */
function apart(one: Chances, other: Chances): number {
  return STATES.reduce((sum, state) => sum + Math.abs(one[state] - other[state]), 0) / 2;
}
