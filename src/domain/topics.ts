/**
 * MQTT topic patterns (`+` stands for one level, `#` for the rest), as OASIS MQTT 5.0 section 4.7 defines them, and
 * the templates that make names out of what the wildcards stood for.
 */

/** What is wrong with a topic pattern, or undefined. */
export function topicPatternFault(pattern: string): string | undefined {
  if (pattern.length === 0) return 'a topic such as houses/+/air';
  if (pattern.length > 512) return 'a topic of at most 512 characters';
  if (pattern.includes('\0')) return 'a topic without NUL characters';
  if (pattern.startsWith('$share/')) return 'a plain topic; shared subscriptions are not used here';
  const levels = pattern.split('/');
  for (const [index, level] of levels.entries()) {
    if (level === '#' && index !== levels.length - 1) return '# only as the last level of the topic';
    if (level !== '#' && level.includes('#')) return '# alone on the last level, as in houses/#';
    if (level !== '+' && level.includes('+')) return '+ alone on its level, as in houses/+/air';
  }
  return undefined;
}

export const wildcardCount = (pattern: string): number =>
  pattern.split('/').filter((level) => level === '+' || level === '#').length;

/** What each wildcard stood for, in order (`#` gives the rest with its slashes); undefined when the topic does not match. */
export function matchTopic(patternLevels: readonly string[], topicLevels: readonly string[]): string[] | undefined {
  const found: string[] = [];
  // Topics that begin with $ belong to the broker and are not met by a leading wildcard (section 4.7.2).
  const first = patternLevels[0];
  if (topicLevels[0]?.startsWith('$') && (first === '+' || first === '#')) return undefined;
  for (let index = 0; index < patternLevels.length; index++) {
    const level = patternLevels[index];
    if (level === '#') {
      found.push(topicLevels.slice(index).join('/'));
      return found;
    }
    const there = topicLevels[index];
    if (there === undefined) return undefined;
    if (level === '+') found.push(there);
    else if (level !== there) return undefined;
  }
  return patternLevels.length === topicLevels.length ? found : undefined;
}

/** A topic both patterns match, or undefined when there is none. */
export function commonTopic(one: string, other: string): string | undefined {
  const a = one.split('/');
  const b = other.split('/');
  const topic: string[] = [];
  for (let index = 0; ; index++) {
    const left = a[index];
    const right = b[index];
    if (left === undefined && right === undefined) return topic.join('/');
    // `#` also matches the level above it, so it may stand for nothing at all.
    if (left === '#' || right === '#') {
      const rest = (left === '#' ? b : a).slice(index);
      const more = rest.filter((level) => level !== '#').map((level) => (level === '+' ? 'x' : level));
      const whole = [...topic, ...more];
      return whole.length > 0 ? whole.join('/') : 'x';
    }
    if (left === undefined || right === undefined) return undefined;
    if (left === '+') topic.push(right === '+' ? 'x' : right);
    else if (right === '+' || left === right) topic.push(left);
    else return undefined;
  }
}

/** True when every topic that `inner` matches is also matched by `outer`. */
export function coversTopic(outer: string, inner: string): boolean {
  const a = outer.split('/');
  const b = inner.split('/');
  for (let index = 0; ; index++) {
    const left = a[index];
    const right = b[index];
    if (left === '#') return true;
    if (left === undefined) return right === undefined;
    if (right === undefined || right === '#') return false;
    if (left !== '+' && left !== right) return false;
  }
}

/** A piece of a template: text as it stands, the n-th wildcard, a place in the message, or a word such as `name`. */
export type TemplatePart =
  | { readonly kind: 'text'; readonly text: string }
  | { readonly kind: 'wildcard'; readonly index: number }
  | { readonly kind: 'pointer'; readonly path: readonly string[] }
  | { readonly kind: 'word'; readonly word: string };

/** RFC 6901: `/a/b~1c` → ['a', 'b/c']; undefined when it is not a JSON pointer. */
export function parsePointer(pointer: string): string[] | undefined {
  if (pointer === '') return [];
  if (!pointer.startsWith('/') || /~(?![01])/.test(pointer)) return undefined;
  return pointer
    .slice(1)
    .split('/')
    .map((token) => token.replaceAll('~1', '/').replaceAll('~0', '~'));
}

/** Splits a template such as `{1}/{pointer:/ids/device}`; a string says what is wrong with it. */
export function parseTemplate(template: string): TemplatePart[] | string {
  const parts: TemplatePart[] = [];
  let rest = template;
  while (rest.length > 0) {
    const open = rest.indexOf('{');
    const text = open < 0 ? rest : rest.slice(0, open);
    if (text.includes('}')) return 'every } to have its {';
    if (text) parts.push({ kind: 'text', text });
    if (open < 0) break;
    const close = rest.indexOf('}', open);
    if (close < 0) return 'every { to have its }';
    const inner = rest.slice(open + 1, close);
    if (/^[1-9]\d?$/.test(inner)) parts.push({ kind: 'wildcard', index: Number(inner) });
    else if (inner.startsWith('pointer:')) {
      const path = parsePointer(inner.slice('pointer:'.length));
      if (!path) return 'a JSON pointer such as {pointer:/ids/device}';
      parts.push({ kind: 'pointer', path });
    } else if (/^[a-z]+$/.test(inner)) parts.push({ kind: 'word', word: inner });
    else return 'placeholders such as {1} or {pointer:/ids/device}';
    rest = rest.slice(close + 1);
  }
  return parts;
}
