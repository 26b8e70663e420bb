/** The signs of destinations and tools: our own strokes on a grid of 24. */
export const icons: Readonly<Record<string, string>> = {
  tonight: 'M19.5 14.500A8.5 8.5 0 1 1 10 4.200a6.6 6.6 0 0 0 9.5 10.300z',
  broods: 'M3 18h18M5.5 18v-5M10 18V8M14.5 18v-8M19 18v-3',
  nursery: 'M5 5h14M7 5v12a3 3 0 0 0 3 3h4a3 3 0 0 0 3-3V5M7 9.500h10M10.5 13h.01M13.5 15.500h.01',
  household: 'M3.5 11L12 4l8.5 7M6 9.500V20h12V9.500M10 20v-5.500h4V20',
  look: 'M2 12C5 6.5 8.5 4.5 12 4.500S19 6.5 22 12C19 17.5 15.5 19.5 12 19.500S5 17.5 2 12zM12 8.500a3.5 3.5 0 1 0 .01 0z',
  night: 'M12 2.5a6.5 6.5 0 0 1 3.5 12V17h-7v-2.5a6.5 6.5 0 0 1 3.5 -12zM9.5 20.5h5',
  day: 'M12 7.500a4.5 4.5 0 1 0 .01 0zM12 2v2.500M12 19.500V22M2 12h2.500M19.5 12H22M5 5l1.7 1.700M17.3 17.300L19 19M19 5l-1.7 1.700M6.7 17.300L5 19',
  dimmer: 'M12 4a8 8 0 1 0 0 16a8 8 0 0 0 0-16zM12 4v16M15 4.600v14.800M18 6.700v10.600',
  attention: 'M12 3.500L22 20H2zM12 10v4.500M12 16.800v.4',
  back: 'M14.5 5L8 12l6.5 7',
  offline: 'M3 3l18 18M5 12a10 10 0 0 1 4-2.500M12 19h.01M8.5 15.500a5 5 0 0 1 7 0M13 9.100a10 10 0 0 1 6 2.9',
};
