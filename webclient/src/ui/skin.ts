/** Which skin holds at an instant: by the lamps of the tanks, or as chosen by hand until they next change. */

export type SkinName = 'night' | 'day';
export type SkinStep = readonly [atMs: number, skin: SkinName];
/** What is kept for the first paint; `public/theme.js` reads the same. */
export interface KeptSkin {
  readonly skin: SkinName;
  readonly until: number | null;
  readonly dim: 0 | 1 | 2;
  readonly chosen: boolean;
  readonly steps: readonly SkinStep[];
}

const WITHOUT_LAMPS_MS = 12 * 3_600_000;
export const FRESH: KeptSkin = { skin: 'day', until: null, dim: 0, chosen: false, steps: [] };

/** The skin that the lamps ask for at `now`. */
export function byLamps(steps: readonly SkinStep[], now: number): SkinName {
  return steps.findLast(([at]) => at <= now)?.[1] ?? 'day';
}

function nextChange(steps: readonly SkinStep[], now: number): number | null {
  return steps.find(([at]) => at > now)?.[0] ?? null;
}

/** What holds at `now`: a choice by hand until its end, then the lamps again. */
export function settled(kept: KeptSkin, now: number): KeptSkin {
  if (kept.chosen && kept.until !== null && now < kept.until) return kept;
  return { ...kept, skin: byLamps(kept.steps, now), until: nextChange(kept.steps, now), chosen: false };
}

/** The other skin by one tap, until the lamps next change. */
export function switched(kept: KeptSkin, now: number): KeptSkin {
  const until = nextChange(kept.steps, now) ?? now + WITHOUT_LAMPS_MS;
  return { ...kept, skin: kept.skin === 'night' ? 'day' : 'night', until, chosen: true };
}

/** The next step of the dimmer, round and round. */
export function dimmed(kept: KeptSkin): KeptSkin {
  return { ...kept, dim: ((kept.dim + 1) % 3) as 0 | 1 | 2 };
}
