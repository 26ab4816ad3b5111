/** A path on this service to go back to; anything else, such as another host, becomes `fallback`. */
export function safeBack(path: string | undefined, fallback: string): string {
  if (!path?.startsWith('/')) return fallback;
  const url = new URL(path, 'http://here.invalid');
  return url.host === 'here.invalid' && url.protocol === 'http:' ? `${url.pathname}${url.search}${url.hash}` : fallback;
}
