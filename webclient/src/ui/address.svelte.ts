/** Where the person is: the path in the address bar, moved without a reload, with the browser's own back. */

/** The present address; `go` moves it, the browser's back and forward move it too. */
export class Address {
  path = $state(location.pathname);
  query = $state(location.search);

  private cameBack = false;

  /** `onleave` is told when the person goes elsewhere by a link or by the browser's back. */
  constructor(private readonly onleave: () => void) {
    history.scrollRestoration = 'manual';
    addEventListener('popstate', () => this.comeBack());
    document.addEventListener('click', (event) => this.follow(event));
  }

  /** Go to a path of ours; `replace` leaves no step to come back to. */
  go(path: string, how: 'push' | 'replace' = 'push'): void {
    this.cameBack = false;
    if (how === 'push') {
      history.replaceState({ ...history.state, y: scrollY }, '');
      history.pushState({ isInside: true }, '', path);
    } else history.replaceState({ isInside: history.state?.isInside === true }, '', path);
    this.read();
  }

  /** Called when the page of the new address stands: scroll and focus as a full page load would. */
  arrive(): void {
    const target = location.hash ? document.getElementById(location.hash.slice(1)) : null;
    if (target) target.scrollIntoView();
    else scrollTo(0, this.cameBack ? Number(history.state?.y ?? 0) : 0);
    document.querySelector<HTMLElement>('main h1')?.focus({ preventScroll: true });
  }

  /** Back to the page of ours that the person came from, or to one that always is there; never out of Holdwatch. */
  back(otherwise = '/'): void {
    if (history.state?.isInside === true) history.back();
    else this.go(otherwise, 'replace');
  }

  private comeBack(): void {
    this.cameBack = true;
    this.onleave();
    this.read();
  }

  private read(): void {
    this.path = location.pathname;
    this.query = location.search;
  }

  private follow(event: MouseEvent): void {
    const link = (event.target as Element).closest('a');
    if (!link || event.defaultPrevented || event.button !== 0 || held(event)) return;
    if (link.origin !== location.origin || link.target || link.hasAttribute('download')) return;
    if (link.pathname === location.pathname && link.hash) return;
    event.preventDefault();
    this.onleave();
    this.go(link.pathname + link.search + link.hash);
  }
}

function held(event: MouseEvent): boolean {
  return event.metaKey || event.ctrlKey || event.shiftKey || event.altKey;
}
