import type { FormView, ListView } from '../../src/views';
import { say } from './say';

const head = { title: say('Plumb Yard'), state: say('Saved on this phone'), back: '/practice' };

export const practice: ListView = {
  screen: 'list', route: '/practice', head: { ...head, back: '/' },
  finding: say('What the practice sets for everyone'),
  sections: [{
    rows: [
      { title: say('Weights at hand'), route: '/practice/weights', lines: [say('Three listed')] },
      { title: say('The noise of the test'), route: '/practice/noise', lines: [] },
    ],
  }],
  actions: [],
};

const weight = (kg: number) => ({
  title: say('Kettlebell, {kg} kg', { kg }), lines: [],
  actions: [{ label: say('Take {kg} kg off', { kg }), do: 'void', kind: 'quiet' as const }],
});

export const weights: FormView = {
  screen: 'form', route: '/practice/weights', head, finding: say('Weights at hand'),
  lines: [say('Suggested weights are rounded down to one of these.')],
  sections: [{ rows: [weight(4), weight(7.5), weight(12)] }],
  fields: [
    {
      id: 'what', kind: 'choice', label: say('What is it?'), value: 'bucket',
      options: [
        { value: 'kettlebell', label: say('Kettlebell') },
        { value: 'bucket', label: say('Bucket of sand') },
      ],
    },
    {
      id: 'weightG', kind: 'number', label: say('Weight'), value: '400', unit: say('kg'),
      error: say('Enter {min} to {max} kg. What you typed is kept.', { min: 0.5, max: 150 }),
    },
  ],
  actions: [{ label: say('Add it'), do: 'weights.add', kind: 'main', form: true }],
};
