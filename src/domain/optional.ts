/** Leaves out the fields that are undefined, so that an absent field stays absent and never overwrites a known one. */
export function defined<T extends object>(fields: T): { [K in keyof T]?: Exclude<T[K], undefined> } {
  const kept: { [K in keyof T]?: Exclude<T[K], undefined> } = {};
  for (const key in fields) {
    const value = fields[key];
    if (value !== undefined) kept[key] = value as Exclude<T[typeof key], undefined>;
  }
  return kept;
}
