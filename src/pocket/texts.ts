import type { RungName } from '../core/rounds/records/failure-ladder.ts';
import type { RoomProgress } from '../core/rounds/records/round-status.ts';

/** Every text of the page that core does not say. Another language is another table of this shape. */
export const texts = {
  rooms: 'Rooms',
  giveOut: 'Give out',
  about: 'About',
  title: (name: string, who: string) => `${name}, ${who}`,
  doneOf: (done: number, of: number) => `${done} of ${of} done`,
  entries: (count: number) => (count === 1 ? '1 entry' : `${count} entries`),
  progress: {
    done: 'done',
    'under-way': 'one more stick',
    unclear: 'not clear',
    failed: 'failed',
    skipped: 'skipped',
    prepared: 'to do',
    open: 'to do, stick not prepared',
    'over-the-air': 'look at it',
    held: 'the desk decides',
    'up-to-date': 'nothing to do',
  } satisfies Record<RoomProgress, string>,
  wipes: 'WIPES',
  next: 'Next',
  nextRoom: 'Next room:',
  noneLeft: 'No room is left to do.',

  // What this phone gives.
  phone: 'What this phone gives',
  phoneLines: {
    storage: 'Entries are kept on this phone at once. A private tab forgets them when it closes.',
    noStorage:
      'This phone keeps nothing for this page. Entries are lost when it closes. Give them out after every room, or open the file in another browser.',
    camera: 'A camera can be asked for.',
    noCamera: 'No camera for this page. Type the codes, or take a photo of them.',
    share: 'Files can be shared.',
    noShare: 'No sharing. Save the file, copy the text, or show codes.',
  },
  clockBehind: (now: string, known: string) =>
    `The clock of this phone is wrong: it says ${now}, and it was ${known} already when this file or its last entry was made. Set the clock. Entries and waits go by it.`,
  broken: (count: number) =>
    count === 1
      ? 'One kept entry is damaged. It does not count. It is given out with the others, so that the desk sees it.'
      : `${count} kept entries are damaged. They do not count. They are given out with the others, so that the desk sees them.`,

  // Scanning.
  scanRoom: 'Scan the card or the tag',
  scanTag: 'Scan the tag of the stick',
  scanPlate: 'Scan the plate',
  pointAt: 'Hold the code in the middle. It is read by itself.',
  stop: 'Stop the camera',
  cameraRefused: (why: string) => `The camera was refused (${why}). Take a photo of the code, or type it.`,
  takePhoto: 'Photo of a code',
  noCode: 'No code was found in that photo. Go nearer, keep it flat, and avoid glare; or type it.',
  typeRoom: 'Or type the room, asset, serial or stick code',
  find: 'Find',
  noRoom: (text: string) => `This file has no "${text}". Another person may have that room.`,
  severalRooms: 'Which one?',
  tagFor: (stick: string) => `Stick ${stick} is for these rooms:`,

  // At the panel.
  asset: 'Asset',
  serial: 'Serial',
  buildNow: 'Build now',
  target: 'Target build',
  notRead: 'read it on the About page',
  stick: 'Stick',
  stickOf: (step: number, steps: number) => `Stick ${step} of ${steps}`,
  notPrepared: 'not prepared when this file was made',
  load: 'Load',
  mode: 'Mode',
  keeps: 'keeps data',
  wipesData: 'wipes',
  note: 'Note',
  port: 'Port',
  fileToPick: 'File to pick',
  mind: 'Mind',
  safety: 'Safety',
  stopAtOnce: 'Stop at once',
  notProven: 'NOT PROVEN',
  because: 'Why',
  onlyWhen: (build: string) => `Only when the About page shows ${build}.`,
  wipeTitle: 'THIS WIPES THE PANEL',
  wipeLost: 'Everything on it goes for good: boards, recordings, accounts, apps, network identity.',
  approvedBy: 'Approved by',
  wait: 'WAIT',
  noApproval:
    'Nobody has approved this wipe. Do not start it. Ask the desk for the approval and a new file, or skip this room.',

  checkStick: '1. The stick',
  typeStick: 'Code on its tag',
  check: 'Check',
  stickRight: (stick: string) => `Stick ${stick} is the one for this room.`,
  stickByTag: (stick: string) =>
    `Stick ${stick} was prepared after this file was made. Its tag names this load and this room.`,
  stickWrong: (stick: string, load: string | undefined) =>
    `STOP. Stick ${stick} is not for this room${load === undefined ? '' : `: it carries load ${load}`}. Do not plug it in. It could put a wrong build on this panel.`,
  stickWanted: (sticks: string) => `Take stick ${sticks}.`,
  stickUnknown: (stick: string) =>
    `STOP. This file does not know stick ${stick}. Read the code again, or scan the tag: it says which load the stick carries.`,
  stickNone: 'That code is of a card, or of a tag without a stick. Scan the tag that hangs on the stick.',
  checkPlate: '2. The plate',
  typePlate: 'Type the label as it stands on the plate of the panel, not from here',
  plateIsCard: 'That is the code of a card or a tag, not of the plate. Type what stands on the plate.',
  plateRight: 'The plate agrees with the list, character by character.',
  plateMisread: (at: number | undefined, listed: string, typed: string) =>
    `Not equal yet${at === undefined ? '' : `, first at character ${at + 1}`}. List: ${listed}. Typed: ${typed}. They differ only in what is easily misread. Look at the plate again and type what stands there.`,
  plateDiffers: (at: number | undefined, listed: string, typed: string) =>
    `STOP. This panel has another label than the list${at === undefined ? '' : `, first at character ${at + 1}`}. List: ${listed}. Typed: ${typed}. A build for another panel can spoil it.`,
  plateReads: (family: string, parts: string) => `What was typed reads as ${family}: ${parts}.`,
  plateElsewhere: (rooms: string) => `Such a label hangs in: ${rooms}.`,
  plateTodo: 'Read it again, best with a second person. If it is so: do nothing here, and record the room as skipped.',
  bothFirst: 'Check the stick and the plate first. Then the steps are shown.',
  again: 'Check again',

  steps: '3. Steps',
  never: 'Never',
  afterwards: '5. Afterwards',
  waiting: '4. Wait',
  startWait: 'The update runs now',
  waitSays: (from: number, to: number) => `${from} to ${to} minutes, as the maker says, and a margin.`,
  waitUsual: (from: number, to: number) =>
    `See the maker's document. ${from} to ${to} minutes is usual; this panel may take longer.`,
  waitLeft: (minutes: number, until: string) =>
    `${minutes === 1 ? '1 minute' : `${minutes} minutes`} left, until ${until} at the latest.`,
  waitOver: (minutes: number) =>
    `The time is over since ${minutes === 1 ? '1 minute' : `${minutes} minutes`}. A margin, then look.`,
  waitClockBack: (now: string) =>
    `The clock of this phone was set back: it says ${now}. It cannot tell what is left. Go by the panel and by another clock.`,
  waitSince: (at: string) => `Started at ${at}. No alarm will sound: look here again.`,
  waitStop: 'Not started',
  darkIsNoFault: 'A dark or still screen is no fault.',

  // The outcome.
  outcome: 'What became of it',
  done: 'It shows a build',
  failed: 'It failed',
  skipped: 'Skipped',
  notYet: 'Not yet',
  newBuild: 'Build on the About page now',
  exactWords: 'The exact words on the screen',
  photo: 'Photo of the screen',
  photoTaken: 'The photo goes with the file. Text and codes leave it out.',
  photoNotRead: 'That photo could not be read. Write down the words.',
  photoNotKept: 'This phone has no room to keep the photo. Save the file before this page is closed.',
  why: 'Why was nothing done?',
  whyWipe: 'The wipe was not approved',
  record: 'Record',
  isSo: 'It is truly so. Why record it all the same?',
  recordAnyway: 'Record all the same',
  recorded: (what: string) => `Recorded: ${what}.`,
  emptyBuild: 'Read the build on the About page, and type it.',
  emptyWords: 'Say it in the exact words.',
  entriesOf: 'Entries of this room',
  entryOf: (at: string, who: string, what: string) => `${at}, ${who}: ${what}`,
  takeBack: 'This entry is wrong',
  takeBackWhy: 'What is wrong with it? It stays, and does not count.',
  takenBack: 'taken back',

  // The ladder.
  ladder: 'Next step after the failure',
  ladderOver: 'STOP. Two tries failed. Nobody tries again before the maker has answered.',
  ladderOne: 'One try failed. One more is left. Change something before it.',
  ladderAir: 'Its own update failed. The next way comes from the desk.',
  rung: { done: 'did', next: 'NOW', after: 'then', waits: 'wait', closed: 'over' },
  atDesk: 'At the desk.',
  rungAtPanel: {
    'verify-stick': 'Take the stick to the desk, or take another one. A stick is verified there, never here.',
    maker:
      'Send the message below with three photos: the plate, the About page, the screen with the exact words. Leave the panel as it is until they answer.',
  } as Partial<Record<RungName, string>>,
  message: 'Message to the maker',
  copy: 'Copy',
  copied: 'Copied.',
  copyByHand: 'Copying was refused. The text is selected: copy it by hand.',

  // Giving out.
  giveOutTitle: 'Give out the entries',
  nothingYet: 'There is no entry yet.',
  giveOutWhy: 'The desk takes the file, the text and the codes, in any order, as often as you like.',
  asFile: 'As a file',
  share: 'Share the file',
  save: 'Save the file',
  saved: 'The browser was asked to save it. Look into its downloads.',
  shared: 'It was handed over. Whether it arrives, the other program says.',
  shareRefused: 'It was not shared. Save it, or copy the text.',
  asText: 'As text',
  asCodes: 'As codes on the screen',
  codesWhy: 'Where nothing else works. The desk reads them with a camera, or from screenshots, in any order.',
  codeOf: (number: number, of: number) => `Code ${number} of ${of}`,
  before: 'Before',
  after: 'After',
  fileWords: (name: string, who: string, id: string, count: number) =>
    `Round ${name}, ${who}: ${count === 1 ? '1 entry' : `${count} entries`} of file ${id}. For the desk: stickwright round merge with this file.`,

  // About and privacy.
  privacy: 'What is in here',
  privacyWords: (rooms: number, who: string) =>
    `${rooms === 1 ? 'One room' : `${rooms} rooms`} of ${who}: names, labels, serials, asset numbers, notes, builds, and who approved a wipe. Nobody else's rooms. Nothing is sent anywhere. Whoever has this file can read it, and can write entries in its name: they show which file, not which person.`,
  whatIsKept: 'On this phone: the entries, and what is ticked.',
  erase: 'Erase what this phone keeps',
  eraseSure: (count: number) =>
    count === 0
      ? 'Erase what is ticked and typed here?'
      : `Erase ${count === 1 ? '1 entry' : `${count} entries`}? What was not given out is gone for good.`,
  eraseYes: 'Yes, erase',
  no: 'No',
  erased: 'Erased. Now delete the file itself: in the downloads, in the mail, in the chat.',
  version: (id: string, at: string) => `File ${id}, made ${at}.`,
} as const;
