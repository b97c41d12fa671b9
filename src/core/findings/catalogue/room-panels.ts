import { define } from '../define.ts';

const practice = 'common practice, no source';
const allLeftOut =
  'Which row is true cannot be told from here, and a stick or a record would meet the wrong panel. These rows are left out of the round.';

/** Rows that speak of one panel, or cannot be told apart. */
interface Together {
  /** `line 5, line 9`. */
  readonly places: readonly string[];
  readonly rooms: readonly string[];
}

const where = ({ places }: Together): string => places.join(' and ');
const inRooms = ({ rooms }: Together): string => [...new Set(rooms)].map((room) => `"${room}"`).join(' and ');
const upper = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

/** Findings of the area `room/`: rows against each other. */
export const roomPanelFindings = {
  'room/row-twice': define<Together>({
    severity: 'caution',
    title: 'the same panel twice',
    seen: (facts) => `${upper(where(facts))} say the same of one panel in ${inRooms(facts)}; the first counts.`,
    why: 'One panel gets one visit.',
    todo: 'If it is a second panel, correct its serial number or asset tag; else take the row out.',
    source: practice,
  }),

  'room/panel-twice': define<Together & { number: string }>({
    severity: 'unproven',
    title: 'one panel with two stories',
    seen: ({ number, ...facts }) =>
      `${upper(where(facts))} are the panel ${number} in ${inRooms(facts)}, but differ in its label, build, mode or approval.`,
    why: allLeftOut,
    todo: 'Look at the panel, keep the row that is right and take the other out.',
    source: practice,
  }),

  'room/serial-in-two-rooms': define<Together & { number: string }>({
    severity: 'unproven',
    title: 'one serial number in two rooms',
    seen: ({ number, ...facts }) => `${upper(where(facts))}: serial ${number} stands in ${inRooms(facts)}.`,
    why: allLeftOut,
    todo: 'Read the serial numbers on both plates and correct the list; perhaps the panel was moved.',
    source: practice,
  }),

  'room/asset-twice': define<Together & { number: string }>({
    severity: 'unproven',
    title: 'one asset tag on two panels',
    seen: ({ number, ...facts }) => `${upper(where(facts))}: asset ${number} stands for panels in ${inRooms(facts)}.`,
    why: allLeftOut,
    todo: 'Read the tags on both panels and correct the list; perhaps the panel was replaced or moved.',
    source: practice,
  }),

  'room/panels-alike': define<Together>({
    severity: 'unproven',
    title: 'panels in one room that cannot be told apart',
    seen: (facts) =>
      `${upper(where(facts))} are in ${inRooms(facts)}, and neither serial, asset tag nor label tells them apart.`,
    why: 'At the panel nobody could say which one is meant, nor afterwards which one was done. These rows are left out of the round.',
    todo: 'Add serial numbers or asset tags, or write the rooms apart, such as "Hall left" and "Hall right".',
    source: practice,
  }),
};
