/** The skin in force: written to the page at once and kept for the next first paint. */
import { FRESH, dimmed, settled, switched, type KeptSkin, type SkinName, type SkinStep } from './skin';

const KEPT_UNDER = 'holdwatch-skin';

function keptSkin(): KeptSkin {
  const shown = document.documentElement.dataset['skin'] === 'night' ? 'night' : 'day';
  try {
    const kept = JSON.parse(localStorage.getItem(KEPT_UNDER) ?? '{}') as Partial<KeptSkin>;
    // What `theme.js` shows may be a later step than the one that was kept.
    return { ...FRESH, ...kept, skin: shown, steps: kept.steps ?? [] };
  } catch (error) {
    // Text of another's hand in our place: start afresh, and say so where a developer looks.
    console.warn('skin not read', error);
    return { ...FRESH, skin: shown };
  }
}

/** The skin and its dimmer, changed by the lamps or by one tap. */
export class Skin {
  private kept = $state.raw<KeptSkin>(keptSkin());

  get name(): SkinName {
    return this.kept.skin;
  }

  get dim(): 0 | 1 | 2 {
    return this.kept.dim;
  }

  /** Follow the lamps at `now`; `steps` are their changes to come. */
  follow(steps: readonly SkinStep[], now: Date): void {
    this.keep(settled({ ...this.kept, steps }, now.getTime()));
  }

  switch(now: Date): void {
    this.keep(switched(this.kept, now.getTime()));
  }

  dimmer(): void {
    this.keep(dimmed(this.kept));
  }

  private keep(kept: KeptSkin): void {
    if (JSON.stringify(kept) === JSON.stringify(this.kept)) return;
    this.kept = kept;
    document.documentElement.dataset['skin'] = kept.skin;
    document.documentElement.dataset['dim'] = String(kept.dim);
    localStorage.setItem(KEPT_UNDER, JSON.stringify(kept));
  }
}
