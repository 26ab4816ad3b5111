import { describe, expect, test } from 'vitest';
import { decodeSparkplug, rebirthRequest, sparkplugTopic } from '../../src/ingest/sparkplug.js';
import { intakeOf, mappingOf, message, RECEIVED, take, told } from './support.js';

/** A writer of its own for the fields the tests need, by the wire form of protocol buffers. */
const varint = (value: number | bigint): number[] => {
  const bytes: number[] = [];
  let rest = BigInt(value);
  for (; rest >= 0x80n; rest >>= 7n) bytes.push(Number(rest & 0x7fn) | 0x80);
  return [...bytes, Number(rest)];
};
const number = (field: number, value: number | bigint): number[] => [...varint(field * 8), ...varint(value)];
const bytes = (field: number, value: Iterable<number>): number[] => {
  const all = [...value];
  return [...varint(field * 8 + 2), ...varint(all.length), ...all];
};
const text = (field: number, value: string): number[] => bytes(field, Buffer.from(value));
const float = (field: number, value: number): number[] => {
  const buffer = Buffer.alloc(4);
  buffer.writeFloatLE(value);
  return [...varint(field * 8 + 5), ...buffer];
};
const quality = (value: number): number[] =>
  bytes(9, [...text(1, 'Quality'), ...bytes(2, [...number(1, 3), ...number(3, value)])]);
const payload = (seq: number | undefined, ...metrics: number[][]): Buffer =>
  Buffer.from([
    ...number(1, RECEIVED - 1000),
    ...metrics.flatMap((metric) => bytes(2, metric)),
    ...(seq === undefined ? [] : number(3, seq)),
  ]);

const mapping = mappingOf({
  id: 'sp',
  topic: 'spBv1.0/+/+/#',
  format: 'sparkplug-b',
  site: 'hill',
  house: 'north',
  byName: { Temperature: { quantity: 'airTempC', unit: '°C' }, Frost: { quantity: 'substrateTempC', unit: '°C' } },
});
const born = payload(
  0,
  [...text(1, 'bench/Temperature'), ...number(2, 1), ...number(4, 9), ...float(12, 21.5)],
  [...text(1, 'bench/Frost'), ...number(2, 2), ...number(4, 3), ...number(10, 4294967293)],
  [...text(1, 'Node Control/Rebirth'), ...number(4, 11), ...number(14, 0)],
);
const at = (kind: string, body: Buffer, node = 'edge') => message(`spBv1.0/glass/${kind}/${node}`, body, { qos: 0 });
const start = () => {
  const replies: { topic: string; payload: Buffer }[] = [];
  return { replies, intake: intakeOf([mapping], { onReply: (reply) => replies.push(reply) }) };
};

describe('Sparkplug B nodes', () => {
  test('a birth names its metrics; later messages may use aliases alone, without a data type', () => {
    const { intake, replies } = start();
    const taken = told(
      take(
        intake,
        at('NBIRTH', born),
        at('NDATA', payload(1, [...number(2, 1), ...float(12, 22.5)], [...number(2, 2), ...number(10, 4294967295)])),
      ),
    );
    // Signed integers travel as unsigned ones: 4294967293 is -3 for a 32-bit number.
    expect(taken.readings.map(([sensor, quantity, value]) => [sensor, quantity, value])).toEqual([
      ['glass/edge/bench', 'airTempC', 21.5],
      ['glass/edge/bench', 'substrateTempC', -3],
      ['glass/edge/bench', 'airTempC', 22.5],
      ['glass/edge/bench', 'substrateTempC', -1],
    ]);
    expect(taken.reasons).toEqual([]);
    expect(replies).toEqual([]);
  });

  test('an alias nobody has named: refused, and the node is asked once to introduce itself', () => {
    const { intake, replies } = start();
    const unknown = at('NDATA', payload(7, [...number(2, 1), ...float(12, 20)]));
    expect(told(take(intake, unknown)).reasons).toEqual(['unknown-alias']);
    take(intake, at('NDATA', payload(8, [...number(2, 1), ...float(12, 20)])));
    expect(replies.map((reply) => reply.topic)).toEqual(['spBv1.0/glass/NCMD/edge']);
    expect(decodeSparkplug(replies[0]?.payload as Buffer)?.metrics).toMatchObject([
      { name: 'Node Control/Rebirth', value: true },
    ]);
  });

  test('a missing message is told, what came is kept', () => {
    const { intake, replies } = start();
    const taken = told(take(intake, at('NBIRTH', born), at('NDATA', payload(3, [...number(2, 1), ...float(12, 22)]))));
    expect(taken.readings).toHaveLength(3);
    expect(taken.reasons).toEqual(['seq-gap']);
    expect(replies).toHaveLength(1);
  });

  test('the running number goes from 255 on to 0', () => {
    const { intake } = start();
    take(intake, at('NBIRTH', born));
    const all = Array.from({ length: 300 }, (_, n) =>
      at('NDATA', payload((n + 1) % 256, [...number(2, 1), ...float(12, 22)])),
    );
    expect(take(intake, ...all).refusals).toEqual([]);
  });

  test('values that the device marks as not good are refused, empty ones are none', () => {
    const { intake } = start();
    const taken = told(
      take(
        intake,
        at('NBIRTH', born),
        at('NDATA', payload(1, [...number(2, 1), ...float(12, 22), ...quality(0)], [...number(2, 2), ...number(7, 1)])),
        at('NDATA', payload(2, [...number(2, 1), ...float(12, 23), ...quality(192)])),
      ),
    );
    expect(taken.readings.slice(2).map(([, , value]) => value)).toEqual([23]);
    expect(taken.reasons).toEqual(['bad-quality']);
  });

  test('after a death the aliases are gone', () => {
    const { intake } = start();
    const taken = told(
      take(
        intake,
        at('NBIRTH', born),
        at('NDEATH', payload(undefined)),
        at('NDATA', payload(1, [...number(2, 1), ...float(12, 22)])),
      ),
    );
    expect(taken.reasons).toEqual(['unknown-alias']);
  });

  test('commands and host states are nobody', () => {
    const { intake } = start();
    const request = rebirthRequest({ group: 'glass', kind: 'NDATA', node: 'edge', device: '' }, RECEIVED);
    expect(
      take(intake, message(request.topic, request.payload), message('spBv1.0/STATE/host', '{"online":true}')),
    ).toEqual({ readings: [], refusals: [] });
    expect(sparkplugTopic('spBv1.0/glass/DDATA/edge/pump')).toEqual({
      group: 'glass',
      kind: 'DDATA',
      node: 'edge',
      device: 'pump',
    });
    expect(sparkplugTopic('spBv1.0/glass/DDATA/edge/pump/more')).toBeUndefined();
  });
});
