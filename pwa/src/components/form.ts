/** What stands in the named fields of a form; a question without an answer gives "". */
export function formValues(form: HTMLFormElement): { readonly [id: string]: string } {
  const values: { [id: string]: string } = {};
  for (const element of form.elements) {
    const id = element.getAttribute('name');
    if (id) values[id] = '';
  }
  for (const [id, value] of new FormData(form)) {
    if (typeof value === 'string') values[id] = value;
  }
  return values;
}
