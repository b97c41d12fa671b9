import { command } from '../frame/command.ts';
import { UsageError } from '../frame/exit-codes.ts';

export const explain = command({
  words: (it) => it.description('Explains one code, or lists all codes.').argument('[code]', 'such as stick/dirty'),
  examples: ['stickwright explain', 'stickwright explain stick/dirty'],
  codes: '',
  run: async (code) => {
    const { isFindingCode } = await import('../../core/findings/catalogue.ts');
    if (code === undefined || isFindingCode(code)) return { verdict: 'ready' as const, code };
    throw new UsageError(`There is no code ${code}.`, 'All of them: stickwright explain');
  },
  text: async ({ code }, look) => {
    const { renderAllCodes, renderExplanation } = await import('../../render/text/render-findings.ts');
    return code === undefined ? renderAllCodes(look) : renderExplanation(code, look);
  },
});
