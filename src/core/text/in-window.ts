/** A reason that is given as an example; nothing where only its place is held. */
const reasoned = (join: string, reason = ''): string =>
  /^["…\s]*$/.test(reason) ? '' : `, ${join} ${reason.replaceAll('"', '')}`;

/**
 * What a person at the window presses where the desk's commands and options are named; the first that fits is taken.
 * What a window has no way for is in none of them: there the command stays, whole, to be copied.
 */
const ways: readonly (readonly [RegExp, string | ((...found: string[]) => string)])[] = [
  // A stop that is accepted, below the finding or where a visit is noted.
  [
    /record it with --accept \S+ --because ("[^"]*")/g,
    (_, reason) => `note it all the same${reasoned('because', reason)}`,
  ],
  [
    /(?:(accept it(?: once)?):|go on with|say so:) --accept \S+ --because (?:and )?("[^"]*"|[^."]+)/g,
    (_, verb, reason) => `${verb ?? 'accept it'} below${reasoned('with', reason)}`,
  ],
  [/accept this finding: --accept \S+, and --because with/g, 'accept it below, with'],
  // What lies on a stick.
  [
    /Run it again with --leftovers set-aside to .*? or with --leftovers remove to delete them/g,
    'Choose below what shall become of them, then look again what would be written',
  ],
  [/(?:run it again with|use) --leftovers remove/g, 'choose below to remove them'],
  [/ with --leftovers set-aside: it gets/g, ', and have it moved: it gets'],
  [/ with --leftovers\b/g, ', and choose what shall become of it'],
  // Labels, families and builds.
  [
    /stickwright family widen "[^"]*" shows what would change/g,
    'the button below, or the sheet Families, shows what would change',
  ],
  [
    /: stickwright family confirm \S+ --label LABEL --package NAME --from WHERE/g,
    ': note the pair on its plate, on the sheet Families',
  ],
  [/name (its|a|the) family file with --family/gi, (_, whose) => `drop ${whose} family file on this page`],
  [/name that one family file with --family/g, 'open the desk with that one alone: `stickwright desk --family FILE`'],
  [/(?:with |: |(\())stickwright family new/g, (_, open = '') => `${open}on the sheet Families`],
  [/\(stickwright label says/g, '(the slip says'],
  [/: stickwright family list/g, ' on the sheet Families'],
  [/ and give it with --running/g, ' and write it on the slip'],
  [/Without --running nobody/g, 'Without the build that it runs nobody'],
  // What a maker publishes.
  [/ and give it with --expect-sha256(?: or --expect-sha512)?/g, ' and paste it below the package'],
  [/give (it|the value) with --expect-sha256/g, (_, what) => `paste ${what} below the package`],
  [
    /, with the maker's checksum file beside it or --expect-sha256\)/g,
    ', with the hash that the maker publishes pasted there)',
  ],
  [/, or save the checksum file beside the archive/g, ', or drop the checksum list there'],
  [/ive the maker's certificate with --signer/g, "ive the maker's certificate below the package"],
  [/Give the address of the download with --from/g, 'Give the address of the download when it is added'],
  // A list and its columns.
  [/name it, such as --columns "[^"]*"/g, 'point at the right column'],
  [/Name the columns with --columns once more/g, 'Point at the columns once more'],
  [/name (?:it|one|one of its sheets) with --sheet/gi, 'choose it below its name'],
  // A stick by itself.
  [
    /`?stickwright verify (?:"[^"]*" |\S+ )?--returned --clear(?: --keep-left DIR)?`?/g,
    '“It came back” on the sheet Sticks, with the ticks for it',
  ],
  [/verify --returned --clear/g, 'clearing'],
  [/ with --keep-left DIR it is copied/g, ' with the tick for it it is copied'],
  [/name another folder with --keep-left\b/gi, 'do it without the copy'],
  [/run it without --sample/g, 'choose “all of it”'],
  [/run it without --quick/gi, 'Look at it without the tick for names and sizes'],
  [/verify again with --replugged/g, 'verify again with the tick that says so'],
  [/(`?)stickwright format\1/g, '“Format” on the sheet Sticks'],
  [/(`?)stickwright prove\1/g, '“Prove” on the sheet Sticks'],
  [/(`?)stickwright verify\1(?: STICK[^.]*)?/g, '“Verify” on the sheet Sticks'],
  [/look with (`?)stickwright drives\1/gi, 'look on the sheet Sticks'],
  [/ask (`?)stickwright drives\1(?: for (?:its place|the drive))?/gi, 'look at the sheet Sticks'],
  [/(`?)stickwright drives\1 (?:lists|shows)/g, 'the sheet Sticks shows'],
  [/stickwright prepare(?=[.,;)])/g, 'on the slip'],
  // The shelf.
  [/(?: with|:) stickwright shelf add\b/g, ' on the sheet Shelf'],
  [/stickwright shelf add FILE/g, 'on the sheet Shelf'],
  [
    /give it to stickwright shelf add with the same file once more/g,
    'add the same file once more on the sheet Shelf and paste it there',
  ],
  [
    /: stickwright shelf remove, with the first digits of the SHA-256/g,
    ' on the sheet Shelf, where each card has its SHA-256',
  ],
  [/\(stickwright shelf remove\)/g, '(its card on the sheet Shelf)'],
  [/: stickwright shelf remove/g, ' on the sheet Shelf'],
  [/: stickwright shelf (?:list|find)[^.]*/g, ': the sheet Shelf shows them'],
  [/: stickwright shelf export/g, ' on the slip'],
  [/run stickwright shelf check(?: on the whole shelf)?/gi, 'have every package read again on the sheet Shelf'],
  // A round.
  [/stickwright round plan with the room list/g, 'on its leaf List'],
  [
    /: stickwright round record --withdraw (?:with this id|\S+)(?: --because "[^"]*")?/g,
    ': withdraw it on the card of its room',
  ],
  [/ ?\(stickwright round record --withdraw ID --because "…"\)/g, ' on the card of its room'],
  [/\(stickwright round record with the room and --approved-by\)/g, '(on the leaf Results, as approved)'],
  [
    /(?: with)?:?(?: with)? stickwright round record (?:ROOM |with the room and |with )?--approved-by(?: NAME)?/g,
    ' on the leaf Results, as approved',
  ],
  [/: stickwright round record with --build/g, ' on the leaf Results'],
  [
    /(?:record the room by itself) ?[(:] ?stickwright round record ROOM\)?/g,
    'note the room by itself, on the leaf Results',
  ],
  [/: stickwright round prepare(?: --load \w+)?/g, ' on the leaf Sticks'],
  [/\(stickwright round prepare\)/g, '(on the leaf Sticks)'],
  [/ ?\(stickwright round merge\)/g, ' on the leaf Results'],
  [/ \(stickwright round ladder\)/g, ', which stands below a visit that failed'],
  [/: stickwright round status/g, ' on the leaf Results'],
  [/in stickwright round status/g, 'on the leaf Results'],
  [/ from the answer of round record, or from stickwright round status --json/g, ' from the card of its room'],
  [/the list that stickwright round export --csv writes/g, 'the list that the leaf Paper gives'],
  // How a visit is noted.
  [/ with the words on its screen: --failed "[^"]*"/g, ' with the words on its screen'],
  [/record that: --failed with its words/g, 'note it as failed, with its words'],
  [/record that with --skipped and why/g, 'note it as skipped, with why'],
  [/and record it with --build/g, 'and note it'],
  [/record it anew with --not-wiped/g, 'note it anew as not wiped'],
  [/record it anew with --stick/g, 'note it anew with its code'],
  [/Next time add --stick with the code on the tag/g, 'Next time add the code on the tag'],
  [/or add --label or --serial as it stands on the panel/g, 'or the label as it stands on the panel'],
  [/give --at with the list, or fill in the column Done at/g, 'fill in the column Done at'],
  // What a code means stands below the finding that names it.
  [/: (`?)stickwright explain \S+\1 says what it means/g, '; what the code means stands below'],
  [/(`?)stickwright explain (?:\S+|with the code)\1 says what/g, 'what the code means, below, says what'],
  // What a window has no button for, on purpose.
  [/run it (?:again )?with --yes/g, 'go on as it stands below this'],
  // What a desk has, and says once.
  [/ \(stickwright seal new\)/g, ' on the sheet Desk'],
  [/stickwright seal new makes a key/g, 'Below, on the sheet Desk, one is made'],
  [/`stickwright seal new` made/g, 'the sheet Desk names as public'],
  [/: `stickwright seal new`/g, ' on the sheet Desk'],
  [/ \(--seal-from FILE\)/g, ', given to the setting trusted seals on the sheet Desk'],
  [/: stickwright settings set [^.,]+(?:, stickwright settings unset NAME)?/g, ' on the sheet Desk'],
  [/\(stickwright settings names it\)/g, '(the sheet Desk names it)'],
  [/stickwright guide makes/g, 'the slip makes'],
  [/: stickwright family add FILE/g, ': drop it on the sheet Families'],
  [/stickwright family check says where and why/g, 'what stands above says where and why'],
  [/then run stickwright family check on the folder/g, 'then look again on the sheet Desk'],
  [/type in guide and family new/g, 'write on the slip and on the sheet Families'],
  [
    /name folders, image files and devices by their paths/g,
    'open the desk with the folders and image files that stand for them: `stickwright desk --stick PATH`',
  ],
  [/switched off by --eject/g, 'switched off from here'],
  [/print their HTML instead/g, 'print them from the leaf Paper instead'],
  // Where things lie.
  [/[;,] or name (?:the folder(?: of the round)?|another place) with --(?:round|shelf)/g, ''],
  [/ with --shelf or STICKWRIGHT_SHELF/g, ' when the desk is opened: `stickwright desk --shelf FOLDER`'],
  [/ \(named with --round\)/g, ''],
  [/the first stickwright shelf add makes/gi, 'the first package that is added makes'],
  [/ \(--paper a5\)/g, ' (A5)'],
  // The same once more.
  [/run the same command with that one/g, 'choose that one'],
  [/running the same command again/g, 'doing the same again'],
  [/with the same command/g, 'in the same way'],
  [/run the same command from an account/gi, 'open the desk from an account'],
  [/run the (?:same command(?: again)?|command again)/gi, 'try it here once more'],
];

/** A text of a finding or an error for a person at the window, who presses what others type. */
export function inWindow(text: string): string {
  const said = ways.reduce(
    (before, [typed, pressed]) =>
      before.replace(typed, (...found: string[]) => {
        const words = typeof pressed === 'string' ? pressed : pressed(...found);
        return /^[A-Z]/.test(found[0] ?? '') ? capital(words) : words;
      }),
    text,
  );
  return said.replace(/(?<=^|[.!?] )(?:the (?:sheet|slip)|what (?:the code|stands))/g, capital);
}

const capital = (text: string): string => `${text.charAt(0).toUpperCase()}${text.slice(1)}`;
