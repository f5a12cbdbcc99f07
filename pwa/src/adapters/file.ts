/** Hands a file to the person: the browser saves it where they want. */

export interface File {
  readonly name: string;
  readonly type: string;
  readonly text?: string;
  /** The bytes in base64, in the place of text. */
  readonly base64?: string;
}

export function isFile(value: unknown): value is File {
  return typeof value === 'object' && value !== null && 'name' in value
    && ('text' in value || 'base64' in value);
}

export function saveFile({ name, type, text = '', base64 }: File): void {
  const content = base64 === undefined
    ? text
    : Uint8Array.from(atob(base64), (c) => c.charCodeAt(0));
  const url = URL.createObjectURL(new Blob([content], { type }));
  const link = document.createElement('a');
  link.href = url;
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}
