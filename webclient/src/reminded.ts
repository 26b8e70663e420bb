/** Under this name the worker keeps when this device showed the last reminder, and the panel about reminders reads it. */
export const REMINDED_AT = 'reminded_at';
