/** The plumb line: the middle of the body. Left of it stands what belongs to the left side. */
export function Plumb({ bob = false }: { readonly bob?: boolean }) {
  return <i class={bob ? 'plumb bob' : 'plumb'} aria-hidden="true" />;
}
