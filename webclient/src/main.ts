/** Puts the parts together: the store, the sync, the door to the server, the worker and the frame. */
import { mount } from 'svelte';
import App from './App.svelte';
import { FirstSight } from './pages/firstsight';
import { openStore } from './store';
import { askToPersist } from './store/persistence';
import { askAs, fetchJson, laterApi, startSync } from './sync';
import { readyDates } from './ui/dates';
import { watchUpdates } from './update';

const target = document.getElementById('app');
if (target === null) throw new Error('index.html has lost its #app');

const opening = openStore();
readyDates();
const store = await opening;
askAs(async () => (await store.self())?.person);
const firstSight = new FirstSight();
const sync = startSync(store, fetchJson, firstSight.over);
const door = laterApi(async () => (await import('./sync/doors')).openApi(sync.entered, store.sync.device));
const persist = store.sync.onWrite(() => {
  persist();
  void askToPersist();
});
let isToRenew = true;
sync.onStatus(() => {
  const { state } = sync.status();
  // What the server knew of this device's reminders ended with its session.
  if (state === 'signed_out') isToRenew = true;
  if (state !== 'agreed' || !isToRenew) return;
  isToRenew = false;
  // Not needed in the dark, so not in what is loaded first.
  void import('./push').then(({ renewPush }) => renewPush(door));
});
// After the first card; where it does not come, the next start or a push sets the number.
void firstSight.over.then(() => import('./badge')).then(({ keepBadge }) => keepBadge(store, () => new Date()), () => undefined);
mount(App, { target, props: { store, sync, door, clock: () => new Date(), update: watchUpdates(firstSight.over), firstSight } });
