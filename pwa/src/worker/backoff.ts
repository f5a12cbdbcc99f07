/**
 * How long to wait before asking a server again: full jitter under a doubling ceiling, so that
 * phones that lost the server together do not come back together. The method is the "full jitter"
 * of the article "Exponential Backoff and Jitter", AWS Architecture Blog, 2015.
 */
const firstMS = 1_000;
const ceilingMS = 60_000;

/** `tries` failures so far (1 or more); `random` is in 0 ≤ random < 1. Answers milliseconds. */
export function backoffMS(tries: number, random: number): number {
  return Math.floor(random * Math.min(ceilingMS, firstMS * 2 ** tries));
}

/**
 * Milliseconds that a Retry-After header asks for (RFC 9110, June 2022, section 10.2.3: seconds or
 * a date); 0 without one or with one that cannot be read.
 */
export function retryAfterMS(header: string | null, nowMS: number): number {
  if (header === null) return 0;
  const text = header.trim();
  if (/^\d{1,9}$/.test(text)) return Number(text) * 1000;
  // Date.parse makes dates of nearly anything: only the one form that may be sent is let through.
  if (!/^[A-Z][a-z]{2}, \d\d [A-Z][a-z]{2} \d{4} [\d:]{8} GMT$/.test(text)) return 0;
  return Math.max(0, (Date.parse(text) || 0) - nowMS);
}
