/** Hands a file to the person: the browser saves it where they want. */

export interface File {
  readonly name: string;
  readonly type: string;
  readonly text: string;
}

export function isFile(value: unknown): value is File {
  return typeof value === 'object' && value !== null && 'name' in value && 'text' in value;
}

export function saveFile({ name, type, text }: File): void {
  const url = URL.createObjectURL(new Blob([text], { type }));
  const link = document.createElement('a');
  link.href = url;
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}
