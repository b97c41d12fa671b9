import { describe, expect, it } from 'vitest';
import { UsageError } from '../../src/cli/frame/exit-codes.ts';
import { parseNamedColumns } from '../../src/cli/round/columns.ts';

describe('--columns', () => {
  it('takes fields with their headings, in one text or in several', () => {
    const wanted = { room: 'Raum', label: 'Typ, wie am Gerät' };
    expect(parseNamedColumns(['room=Raum,label="Typ, wie am Gerät"'])).toEqual(wanted);
    expect(parseNamedColumns(['room = Raum', "label='Typ, wie am Gerät'"])).toEqual(wanted);
    expect(parseNamedColumns(['label=a=b'])).toEqual({ label: 'a=b' });
    expect(parseNamedColumns([])).toEqual({});
  });

  it.each([['raum=Raum'], ['room='], ['room'], ['room=a,room=b'], ['room=a,label=a'], ['']])('refuses %s', (text) => {
    expect(() => parseNamedColumns([text])).toThrow(UsageError);
  });
});
