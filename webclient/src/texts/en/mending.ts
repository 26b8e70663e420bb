import { nursery } from './nursery';

/** Texts of mending what the household did not take: what is wrong, how each value is changed, what may be left out. */
export const mending = {
  rest: (n: number) => `The rest of this entry (${n})`, choose: 'Choose one of these.', open: 'Choose…', openOf: (text: string) => `“${text}” is none of these`, number: 'This must be a number.', when: 'Say when it was.', hour: 'This must be an hour such as 21:30.',
  long: (n: string, most: string) => `${n} characters; ${most} fit.`, unknown: 'This server does not know this value. Leave it out, or send it again once the server is newer.',
  leave: 'Send without it', leaveOf: (field: string) => `Send without it: ${field}`, left: 'not sent', take: 'Put it back', takeOf: (field: string) => `Put it back: ${field}`,
  toBrood: 'To the brood', toNursery: 'To the nursery', yes: 'Yes', no: 'No',
  /** Names of fields besides those that are asked on pages. */
  fields: { about: 'Of', gone: 'Taken out', recalled: 'Filled in afterwards', clock_doubtful: 'Time doubtful', at_phone: 'By the device’s clock', has_released_before: 'Has let young go before', separate: 'An event of its own', duty: 'Duty', source: 'Source', thermometer: 'Thermometer', since: 'From', until: 'Until', right: 'Is right',
    alive: 'Alive', how: 'How sure', dead: 'Found dead', meals_a_day: 'Meals a day', portion: 'One meal', jug: 'Water is changed with', jug_litres: 'One of it holds', nauplii_per_gram: 'Nauplii from one gram', hours_to_hatch: 'Hours to hatch', hours_to_enrich: 'Hours enriched', measure: 'Taken out with', measure_grams: 'One of it weighs, g',
    finished: 'Finished', sort: 'Sort', grams: 'Cysts, g', food_id: 'Tin', ammonia_mg_l: 'Total ammonia, mg/L N', nitrite_mg_l: 'Nitrite, mg/L N', ph: 'pH', salinity_psu: 'Salinity, psu', belly: 'Bellies' },
  /** Words to choose from in what is logged of young. */
  nursery: { sorts: nursery.foods.sorts, hows: nursery.form.hows, bellies: nursery.fed.bellies, ends: nursery.end.said },
  sex: { male: 'male', female: 'female', unknown: 'not known' },
};
