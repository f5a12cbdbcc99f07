/**
 * The form in which bytes cross into the core and back: a 4-byte little-endian length and the JSON
 * of that length in UTF-8, then any number of blobs, each after its own 4-byte length.
 */
export interface Frame {
  readonly json: unknown;
  readonly blobs: readonly Uint8Array[];
}

/** The bytes of a frame. */
export function encodeFrame(json: unknown, blobs: readonly Uint8Array[] = []): Uint8Array {
  const parts = [new TextEncoder().encode(JSON.stringify(json)), ...blobs];
  const bytes = new Uint8Array(parts.reduce((sum, part) => sum + 4 + part.length, 0));
  const lengths = new DataView(bytes.buffer);
  let at = 0;
  for (const part of parts) {
    lengths.setUint32(at, part.length, true);
    bytes.set(part, at + 4);
    at += 4 + part.length;
  }
  return bytes;
}

/** Reads a frame; the blobs are copies. Throws a RangeError where a length does not fit. */
export function decodeFrame(bytes: Uint8Array): Frame {
  const parts: Uint8Array[] = [];
  const lengths = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  let at = 0;
  while (at < bytes.length) {
    const length = lengths.getUint32(at, true);
    if (length > bytes.length - at - 4) {
      throw new RangeError(`frame: ${length} bytes at ${at} do not fit`);
    }
    parts.push(bytes.slice(at + 4, at + 4 + length));
    at += 4 + length;
  }
  const [head, ...blobs] = parts;
  if (head === undefined) throw new RangeError('frame: empty');
  return { json: JSON.parse(new TextDecoder().decode(head)), blobs };
}
