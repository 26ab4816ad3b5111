const OCTET = '(?:25[0-5]|2[0-4]\\d|1?\\d?\\d)';
const LOOPBACK_V4 = new RegExp(`^127(?:\\.${OCTET}){3}$`);

/** `localhost`, 127.0.0.0/8 and ::1: what only this machine can reach. */
export function isLoopback(host: string): boolean {
  const bare = host.replace(/^\[|\]$/g, '').replace(/^::ffff:/i, '');
  return LOOPBACK_V4.test(bare) || bare === '::1' || bare.toLowerCase() === 'localhost';
}
