/** The server's other doors, loaded when the first of them is opened; each call answers or throws an error with words for people. */
import type { components } from '../records/api';
import { askFor, type Assumptions, type Device, type Invitation, type InvitationLink, type Invited, type Me, type Recovered, type Role } from './api';
import { fetchJson, type Ask, type FetchJson } from './http';

type Schemas = components['schemas'];
export type Api = ReturnType<typeof openApi>;

/** Every call that pages make; `entered` is told who is signed in after each way in, the server what stamps call the device. */
export function openApi(entered: (me: Me) => Promise<void>, device: string, fetching: FetchJson = fetchJson) {
  const ask = <T>(path: string, how?: Ask) => askFor<T>(fetching, path, how);
  const enter = async (path: string, body: object): Promise<Me> => {
    const me = await ask<Me>(path, { method: 'POST', body: { ...body, device } });
    return keepOrLeave(me, entered, () => ask('sign-out', { method: 'POST', person: me.person.id }));
  };
  return {
    me: () => ask<Me>('me'),
    signIn: (login: string, password: string) => enter('sign-in', { login, password }),
    signOut: (person?: string) => ask<void>('sign-out', { method: 'POST', person }),
    setup: (code: string, household: string, name: string, login: string, password: string) =>
      enter('setup', { code, household, name, login, password }),
    join: (token: string, login: string, password: string) => enter('join', { token, login, password }),
    changePassword: (current: string, password: string) => ask<void>('password', { method: 'POST', body: { current, password } }),
    lookAtRecovery: (token: string) => ask<Recovered>('recovery/look', { method: 'POST', body: { token } }),
    recover: (token: string, password: string) => enter('recovery', { token, password }),
    lookAtInvitation: (token: string) => ask<Invited>('invitations/look', { method: 'POST', body: { token } }),
    /** `again` names somebody who left and is to come back as the same person. */
    invite: (name: string, role: Role, again?: string) => ask<InvitationLink>('invitations', { method: 'POST', body: { name, role, person: again ?? null } }),
    invitations: () => ask<Invitation[]>('invitations'),
    removeInvitation: (id: string) => ask<void>(`invitations/${encodeURIComponent(id)}`, { method: 'DELETE' }),
    devices: () => ask<Device[]>('devices'),
    removeDevice: (id: string) => ask<void>(`devices/${encodeURIComponent(id)}`, { method: 'DELETE' }),
    removePerson: (id: string) => ask<void>(`people/${encodeURIComponent(id)}`, { method: 'DELETE' }),
    forecastsOf: async (brood: string) => (await ask<Schemas['Development']>(`broods/${encodeURIComponent(brood)}/forecasts`)).forecasts,
    assumptionsOf: (brood: string) => ask<Assumptions>(`broods/${encodeURIComponent(brood)}/assumptions`),
    subscribePush: (subscription: PushSubscriptionJSON) => {
      const { endpoint, keys } = subscription;
      return ask<void>('push/subscriptions', { method: 'POST', body: { endpoint, keys } });
    },
    unsubscribePush: (endpoint: string) => ask<void>('push/subscriptions', { method: 'DELETE', body: { endpoint } }),
  };
}

async function keepOrLeave(me: Me, entered: (me: Me) => Promise<void>, leave: () => Promise<unknown>): Promise<Me> {
  try {
    await entered(me);
    return me;
  } catch (error) {
    // This phone holds another household's records: a session must not stand under which they could go up.
    await leave();
    throw error;
  }
}
