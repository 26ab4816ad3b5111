/** Looks a JSON pointer up in a parsed message. Only own properties count, so that hostile keys find nothing. */
export function lookUp(root: unknown, path: readonly string[]): unknown {
  let here = root;
  for (const token of path) {
    if (Array.isArray(here)) {
      if (!/^(?:0|[1-9]\d*)$/.test(token)) return undefined;
      here = here[Number(token)];
    } else if (typeof here === 'object' && here !== null && Object.hasOwn(here, token))
      here = (here as Record<string, unknown>)[token];
    else return undefined;
  }
  return here;
}
