/**
 * The order inside core: a folder knows those above it and none below, and folders on one line do not know each other.
 * Each says what makes it later than the line before.
 */
const coreOrder = [
  [['model'], 'the nouns, and what a finding consists of: everybody speaks of them'],
  [['text'], 'words and numbers out of text: know the nouns and nothing of what a text is about'],
  [
    ['documents', 'archive-format', 'volume-format', 'update-package'],
    'bits that somebody else defined: what they are is no judgement, so they know no finding',
  ],
  [['findings'], 'what can be said: its facts are of the nouns and formats'],
  [['build'], 'build strings compared, by the rules of a family'],
  [['label'], 'labels and package names read, by the rules of a family'],
  [['manifest'], 'what we leave on a stick, and under which names'],
  [['contents'], 'what else may lie on a stick, told from what we leave there'],
  [['plan'], 'what would be written and cleared, from what lies there'],
  [['checks'], 'facts of archive, package, medium, stick and record judged; a stick also by what the plan knows'],
  [
    ['shelf', 'returned'],
    'the desk: packages kept, and sticks that came back; judged by the checks, with rules of their own',
  ],
  [['guide'], 'one panel, asked about step by step: knows what label, package and shelf say'],
  [['rounds'], 'many rooms: each judged by shelf and checks'],
  [['report'], 'what workflows answer: names whatever core can say'],
];

/** The same below folders of core that have parts. */
const ordersWithin = {
  checks: [
    [['archive', 'fit', 'medium', 'update'], 'an area each'],
    [['stick'], 'the medium under it is judged with it'],
    [['verify'], 'a stick is judged once more, and a label is asked for again'],
  ],
  'volume-format': [
    [['audit', 'layout'], 'one judges volumes that others made, one lays out new ones; both know the structures above'],
  ],
  rounds: [
    [['list', 'schedule'], 'rooms from rows; sticks in an order: neither needs the other'],
    [['plan'], 'rooms, loads and sticks together'],
    [['records'], 'what was done, against the plan'],
    [
      ['cards', 'filled', 'prepare'],
      'paper, rows that came back, and the next preparation: each from plan and records',
    ],
    [['pocket'], 'what one person carries on a phone: what the cards say; and lines that come back'],
  ],
};

module.exports = { coreOrder, ordersWithin };
