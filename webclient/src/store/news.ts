/** Telling this tab and the others what has changed. */

export interface Change {
  /** Kinds of records and of derived rows; `self` and `settings` for those. */
  kinds: Set<string>;
}
export type Listener = (what: Change) => void;
export type Forget = () => void;

export interface News {
  /** Tell every listener, here and in other tabs. */
  tell(kinds: Iterable<string>): void;
  onChange(listener: Listener): Forget;
  /** Pass any other message to the other tabs. */
  send(message: object): void;
  onMessage(listener: (message: object) => void): Forget;
  close(): void;
}

interface Parcel {
  kinds?: string[];
  message?: object;
}

/** News under that name; a browser without BroadcastChannel has them in this tab alone. */
export function openNews(name: string): News {
  const changes = new Set<Listener>();
  const messages = new Set<(message: object) => void>();
  const channel = typeof BroadcastChannel === 'undefined' ? null : new BroadcastChannel(name);
  const hear = (kinds: Iterable<string>) => changes.forEach((listener) => listener({ kinds: new Set(kinds) }));
  if (channel !== null) {
    channel.onmessage = ({ data }: MessageEvent<Parcel>) => {
      if (data.kinds) hear(data.kinds);
      if (data.message) messages.forEach((listener) => listener(data.message as object));
    };
  }
  return {
    tell: (kinds) => {
      const list = [...kinds];
      if (list.length === 0) return;
      channel?.postMessage({ kinds: list });
      hear(list);
    },
    onChange: (listener) => joined(changes, listener),
    send: (message) => channel?.postMessage({ message }),
    onMessage: (listener) => joined(messages, listener),
    close: () => channel?.close(),
  };
}

/** Add a listener; what comes back takes it out again. */
export function joined<T>(listeners: Set<T>, listener: T): Forget {
  listeners.add(listener);
  return () => void listeners.delete(listener);
}
