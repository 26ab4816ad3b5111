import { z } from 'zod';
import type { Problem } from '../../domain/errors.js';
import { didYouMean } from '../../domain/problems.js';
import { idSchema, type Site } from '../../domain/site.js';
import { commonTopic, topicPatternFault, wildcardCount } from '../../domain/topics.js';
import { FORECAST_KINDS } from '../../forecast/forms.js';
import { namedOnce, unknownId } from './checks.js';

/** The section `forecast` of the site file. Nothing is asked of anybody unless it says so. */

const PLACES = ['latitude', 'longitude', 'elevation', 'key'];

const address = z
  .string()
  .trim()
  .max(2000)
  .superRefine((text, context) => {
    const unknown = [...text.matchAll(/\{([^{}]*)\}/g)]
      .map(([, word = '']) => word)
      .find((word) => !PLACES.includes(word));
    if (unknown !== undefined) {
      const mend = didYouMean(unknown, PLACES);
      context.addIssue({
        code: 'custom',
        message: `only ${PLACES.map((place) => `{${place}}`).join(', ')} in braces`,
        params: { got: `{${unknown}}`, ...(mend && { mend }) },
      });
      return;
    }
    const filled = text.replace(/\{\w+\}/g, '1');
    if (!/^https?:\/\//.test(text) || !URL.canParse(filled))
      context.addIssue({
        code: 'custom',
        message: 'an address such as https://weather.example/forecast?lat={latitude}&lon={longitude}',
      });
    else if (new URL(filled).username !== '' || new URL(filled).password !== '')
      context.addIssue({
        code: 'custom',
        message: 'an address without a name and password in it',
        params: {
          got: 'one with them',
          mend: 'Take them out. A key goes into a file of its own: keyFile, and {key} in the address.',
        },
      });
  });

const pulledSchema = z.strictObject({
  /** As people read it beside a forecast. */
  name: idSchema,
  kind: z.enum(FORECAST_KINDS),
  address,
  /** Sent along with every question, as open services ask for. */
  contact: z
    .string()
    .trim()
    .max(200)
    .regex(
      /^[!-~]+@[!-~]+\.[!-~]+$|^https?:\/\/[!-~]+$/,
      'an e-mail address or the address of a page, where the service finds who asks',
    ),
  /** Holds what stands for {key}. */
  keyFile: z.string().trim().min(1).max(4096).optional(),
  /** Left out: every site. */
  sites: z.array(idSchema).min(1).max(100).optional(),
  /** Asked this often at most; less often where the service says so. */
  minutes: z.number().int().min(10).max(1440).default(60),
});

export const forecastSchema = z.strictObject({
  pulled: z.array(pulledSchema).max(20).default([]),
  /** Forecasts that other programs hand over by MQTT; over REST they can come at any time. */
  pushed: z
    .strictObject({
      topic: z
        .string()
        .refine(
          (topic) => topicPatternFault(topic) === undefined && wildcardCount(topic) === 1 && !topic.includes('#'),
          'a topic with one + where the id of the site stands, such as leafturn/+/forecast',
        ),
    })
    .optional(),
});
export type ForecastFile = z.infer<typeof forecastSchema>;

export function forecastProblems({ pulled }: ForecastFile, sites: readonly Site[]): Problem[] {
  const known = sites.map(({ id }) => id);
  const firstOf = new Map<string, number>();
  const problems = pulled.flatMap((source, index) => {
    const path = `forecast.pulled[${index}]`;
    const problems: Problem[] = [];
    for (const id of source.sites ?? known) {
      const before = firstOf.get(id);
      if (!known.includes(id)) problems.push(unknownId(`${path}.sites`, 'sites of this file', id, known));
      else if (before !== undefined)
        problems.push({
          path: `${path}.sites`,
          expected: 'one service for each site',
          got: `a second one for ${id}, beside forecast.pulled[${before}]`,
          mend: 'Say with `sites` which service is for which site.',
        });
      else firstOf.set(id, index);
    }
    if (source.address.includes('{key}') !== (source.keyFile !== undefined))
      problems.push({
        path: `${path}.keyFile`,
        expected:
          source.keyFile === undefined ? 'a file with what stands for {key} in the address' : '{key} in the address',
        got: 'nothing',
        mend: source.keyFile === undefined ? 'Add keyFile.' : 'Put {key} where it belongs, or take keyFile out.',
      });
    return problems;
  });
  return [...namedOnce('forecast.pulled', pulled), ...problems];
}

/** Sensors on the topic of the forecasts would never be heard. */
export function forecastWarnings(
  { pushed }: ForecastFile,
  sensors: readonly { readonly id: string; readonly topic: string }[],
): Problem[] {
  if (!pushed) return [];
  return sensors.flatMap(({ id, topic }, index) => {
    const both = commonTopic(topic, pushed.topic);
    return both === undefined
      ? []
      : [
          {
            path: `sensors[${index}].topic`,
            expected: 'topics that forecast.pushed.topic does not take',
            got: `some that both take, such as ${both}: they are read as forecasts, and ${id} does not get them`,
            mend: 'Make one of the two narrower.',
          },
        ];
  });
}
