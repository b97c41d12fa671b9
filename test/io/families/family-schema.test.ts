import { spawnSync } from 'node:child_process';
import { describe, expect, it } from 'vitest';
import * as z from 'zod';
import { familySchema } from '../../../src/core/model/family.ts';
import { needs } from '../../outside/needs.ts';

const file = 'samples/families/family.schema.json';

const published = (): string =>
  `${JSON.stringify({ ...z.toJSONSchema(familySchema, { io: 'input' }), title: 'stickwright panel family' }, null, 2)}\n`;

describe('family.schema.json', () => {
  it('is what the definition says (npm run schema writes it anew)', async () => {
    await expect(published()).toMatchFileSnapshot(`../../../${file}`);
  });

  const program = `
import json, sys, yaml, jsonschema
schema = json.load(open(sys.argv[1]))
jsonschema.Draft202012Validator.check_schema(schema)
validator = jsonschema.Draft202012Validator(schema)
for path in sys.argv[2:]:
    for error in validator.iter_errors(yaml.safe_load(open(path, encoding='utf-8'))):
        sys.exit(f'{path}: {error.message}')
wrong = yaml.safe_load(open(sys.argv[2], encoding='utf-8'))
del wrong['label']['examples']
wrong['colour'] = 'red'
print(sorted(error.validator for error in validator.iter_errors(wrong)))
`;

  needs({ python3: 'python3 python3-jsonschema python3-yaml' })(
    "is a sound schema that Python's jsonschema and PyYAML hold the samples to",
    (context: { skip: (note: string) => void }) => {
      const probe = spawnSync('python3', ['-c', 'import jsonschema, yaml']);
      if (probe.status !== 0 && process.env.CI !== 'true') {
        context.skip('missing python3-jsonschema or python3-yaml (apt-get install python3-jsonschema python3-yaml)');
      }
      const samples = ['basalt', 'lantern', 'sedge'].map((name) => `samples/families/${name}.yaml`);
      const { stdout, stderr } = spawnSync('python3', ['-c', program, file, ...samples], { encoding: 'utf8' });
      expect(stderr).toBe('');
      expect(stdout.trim()).toBe("['additionalProperties', 'required']");
    },
  );
});
