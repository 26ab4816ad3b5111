import { isUtf8 } from 'node:buffer';
import { type Fault, fault, quoted } from './reasons.js';

/** Bytes to text, JSON and numbers. Nothing here throws, whatever the bytes are. */
export interface DecodeLimits {
  readonly maxPayloadBytes: number;
  readonly maxJsonDepth: number;
}
export const DEFAULT_LIMITS: DecodeLimits = { maxPayloadBytes: 262_144, maxJsonDepth: 32 };

export type Decoded<T> = { readonly ok: true; readonly value: T } | { readonly ok: false; readonly fault: Fault };
const good = <T>(value: T): Decoded<T> => ({ ok: true, value });
const bad = (what: Fault): Decoded<never> => ({ ok: false, fault: what });

/** Empty or oversized messages are refused before anything is made of them. */
export function payloadFault(payload: Buffer, limits: DecodeLimits): Fault | undefined {
  if (payload.length === 0) return fault('empty-payload', 'The message was empty.');
  if (payload.length > limits.maxPayloadBytes)
    return fault(
      'payload-too-large',
      `The message has ${payload.length} bytes; at most ${limits.maxPayloadBytes} are read.`,
    );
  return undefined;
}

export function decodeText(payload: Buffer): Decoded<string> {
  if (!isUtf8(payload)) return bad(fault('invalid-utf8', 'The message is not text: its bytes are not UTF-8.'));
  const text = payload.toString('utf8');
  return good(text.charCodeAt(0) === 0xfeff ? text.slice(1) : text);
}

/** True when brackets nest deeper than `limit`; strings are skipped. */
function nestsDeeper(text: string, limit: number): boolean {
  // Each level needs a bracket of its own, so a short text cannot.
  if (text.length <= limit) return false;
  let depth = 0;
  for (let index = 0; index < text.length; index++) {
    const code = text.charCodeAt(index);
    if (code === 0x22) {
      for (index++; index < text.length; index++) {
        const inner = text.charCodeAt(index);
        if (inner === 0x5c) index++;
        else if (inner === 0x22) break;
      }
    } else if (code === 0x5b || code === 0x7b) {
      if (++depth > limit) return true;
    } else if (code === 0x5d || code === 0x7d) depth--;
  }
  return false;
}

export function parseJsonText(text: string, limits: DecodeLimits): Decoded<unknown> {
  if (nestsDeeper(text, limits.maxJsonDepth))
    return bad(fault('too-deep', `The message nests deeper than ${limits.maxJsonDepth} levels.`));
  try {
    return good(JSON.parse(text) as unknown);
  } catch {
    return bad(fault('malformed-json', `The message is not JSON; it begins with ${quoted(text.slice(0, 40))}.`));
  }
}

export function decodeJson(payload: Buffer, limits: DecodeLimits): Decoded<unknown> {
  const text = decodeText(payload);
  return text.ok ? parseJsonText(text.value, limits) : text;
}

/** JSON that holds JSON as a string. A sender that leaves out the outer string is understood too. */
export function decodeJsonInJson(payload: Buffer, limits: DecodeLimits): Decoded<unknown> {
  const outer = decodeJson(payload, limits);
  return outer.ok && typeof outer.value === 'string' ? parseJsonText(outer.value, limits) : outer;
}

export interface NumberForm {
  readonly decimalComma?: boolean | undefined;
  readonly stripSuffix?: string | undefined;
}
const DECIMAL = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$/;
const DECIMAL_WITH_COMMA = /^[+-]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][+-]?\d+)?$/;

/** A JSON number, or text that is wholly one decimal number. Anything else is not a number; nothing is guessed. */
export function parseNumber(raw: unknown, form: NumberForm, where?: string): Decoded<number> {
  let value: number;
  if (typeof raw === 'number') value = raw;
  else if (typeof raw === 'string') {
    let text = raw.trim();
    if (form.stripSuffix !== undefined && text.endsWith(form.stripSuffix))
      text = text.slice(0, -form.stripSuffix.length).trimEnd();
    if (!(form.decimalComma ? DECIMAL_WITH_COMMA : DECIMAL).test(text))
      return bad(fault('not-a-number', `Expected a number, got ${quoted(raw)}.`, where));
    value = Number(form.decimalComma ? text.replace(',', '.') : text);
  } else return bad(fault('not-a-number', `Expected a number, got ${quoted(raw)}.`, where));
  return Number.isFinite(value)
    ? good(value)
    : bad(fault('not-finite', 'The number is too large to be a measurement.', where));
}

const EXCERPT_BYTES = 200;

/** The first bytes of a message, made printable. */
export function excerptOf(payload: Buffer): string {
  const head = payload.subarray(0, EXCERPT_BYTES);
  const more = payload.length > EXCERPT_BYTES ? '…' : '';
  // A cut inside a character must not make the whole excerpt unreadable.
  for (let cut = 0; cut < 4; cut++) {
    const part = head.subarray(0, head.length - cut);
    if (!isUtf8(part)) continue;
    let text = '';
    for (const character of part.toString('utf8')) text += isPrintable(character) ? character : '·';
    return text + more;
  }
  return `bytes ${head.subarray(0, 48).toString('hex')}${payload.length > 48 ? '…' : ''}`;
}

function isPrintable(character: string): boolean {
  const code = character.codePointAt(0) ?? 0;
  return code >= 0x20 && !(code >= 0x7f && code < 0xa0) && code !== 0xfeff && !(code >= 0x202a && code <= 0x202e);
}
