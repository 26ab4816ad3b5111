/** An id made of a name that nothing has yet: `Conophytum, seedlings 2024` becomes `conophytum-seedlings-2024`. */
export function freeId(name: string, isTaken: (id: string) => boolean, usual: string): string {
  const base =
    name
      .replaceAll('ß', 'ss')
      .normalize('NFKD')
      .replace(/\p{Mark}/gu, '')
      .toLowerCase()
      .replace(/[^a-z0-9]+/g, '-')
      .replace(/^-+|-+$/g, '')
      .slice(0, 56)
      .replace(/-+$/, '') || usual;
  if (!isTaken(base)) return base;
  let number = 2;
  while (isTaken(`${base}-${number}`)) number += 1;
  return `${base}-${number}`;
}
