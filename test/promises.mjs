/**
 * What this tool promises, each with the tag that its tests carry: `test('…', { tags: ['ready-is-on-the-medium'] },
 * …)`. `npm run promises` prints which tests hold which; one without a test fails the gate.
 */
export const promises = [
  {
    name: 'plan-before-touch',
    description: 'Nothing is touched before the plan is shown and agreed to; only what the plan lists is done.',
  },
  {
    name: 'never-half-a-file',
    description:
      'Never half a file under a final name: written aside, read back, then renamed; the manifest last, and withdrawn first.',
  },
  {
    name: 'ready-means-read-back',
    description: 'Ready means read back: every byte after the last write, and the report says from where.',
  },
  { name: 'nobodys-files-vanish', description: "Nobody's files vanish: moved or removed as chosen, and listed." },
  {
    name: 'only-the-stick',
    description: 'Only the stick: a drive that is not removable and USB, or that holds the system, is refused.',
  },
  {
    name: 'archive-read-once',
    description: 'The archive is read once, whole before anything gets its name; memory does not grow with it.',
  },
  { name: 'any-machine-checks', description: 'Any machine can check the stick: `sha256sum -c`.' },
  { name: 'any-maker', description: 'Any panel maker: rules live in family files, whose examples run.' },
  { name: 'work-goes-on', description: 'Interrupted work goes on: the same command finishes it.' },
  {
    name: 'ready-is-on-the-medium',
    description: 'Ready is on the medium: after the word the power may go at that moment.',
  },
  {
    name: 'read-alike-by-all',
    description: 'Ready is read alike by everybody: the same names and bytes, one volume, no second firmware.',
  },
  { name: 'doubt-stays', description: 'Doubt stays doubt on every way that leads on, until it is proven.' },
  {
    name: 'nobody-else',
    description: 'Nobody else at the desk: programs by full path, nothing outside the own file system of the stick.',
  },
];
