const core = (...folders) => folders.map((folder) => `test/core/${folder}/*.test.ts`);

/** What is broken, and the tests that may notice: first those that are quick, then, for what is left, the others. */
export const parts = {
  build: { mutate: ['src/core/build/*.ts'], tests: [core('build'), ['test/properties/label-build-order.test.ts']] },
  fit: {
    mutate: ['src/core/checks/fit/*.ts', 'src/core/label/*.ts'],
    tests: [
      [
        ...core('build', 'checks/fit', 'label'),
        'test/core/text/invisible-characters.test.ts',
        'test/io/families/load-families.test.ts',
        'test/core/shelf/find-on-shelf.test.ts',
      ],
      ['test/core/guide/guide-course.test.ts'],
    ],
  },
  archive: {
    mutate: ['src/core/checks/archive/*.ts'],
    tests: [
      [...core('checks/archive'), 'test/io/archive/{defects,every-code}.test.ts'],
      ['test/workflows/wrapper.test.ts'],
    ],
  },
  update: {
    mutate: ['src/core/checks/update/*.ts'],
    tests: [core('checks/update', 'update-package'), ['test/io/update-package/*.test.ts']],
  },
  stick: {
    mutate: ['src/core/checks/stick/*.ts', 'src/core/checks/medium/*.ts'],
    tests: [
      [
        'test/core/checks/stick/{check-stick-facts,compare-drives,judge-drive}.test.ts',
        'test/core/checks/medium/{check-proof,check-shared-places}.test.ts',
        'test/core/checks/verify/*.test.ts',
      ],
      ['test/core/checks/stick/{check-format,check-contents}.test.ts', 'test/core/checks/medium/check-medium.test.ts'],
    ],
  },
  plan: {
    mutate: ['src/core/plan/*.ts', 'src/core/contents/*.ts'],
    tests: [
      [
        'test/core/contents/*.test.ts',
        'test/core/plan/{check-plan-facts,compare-sticks,plan-lines,plan-layout}.test.ts',
        'test/core/returned/check-returned.test.ts',
      ],
      [
        'test/core/plan/check-plan.test.ts',
        'test/core/checks/stick/check-contents.test.ts',
        'test/workflows/{known-names,firmware-inside,short-names}.test.ts',
      ],
    ],
  },
  verify: {
    mutate: ['src/core/checks/verify/*.ts', 'src/core/manifest/*.ts', 'src/core/documents/*.ts'],
    tests: [
      [...core('manifest', 'documents', 'checks/verify'), 'test/core/checks/medium/check-shared-places.test.ts'],
      ['test/workflows/verify-*.test.ts', 'test/workflows/{firmware-inside,record-is-whole}.test.ts'],
    ],
  },
  returned: {
    mutate: ['src/core/returned/*.ts'],
    tests: [core('returned', 'contents'), ['test/workflows/returned-stick.test.ts']],
  },
  shelf: { mutate: ['src/core/shelf/*.ts'], tests: [core('shelf'), ['test/workflows/shelf.test.ts']] },
  // The first of these have their sticks in memory, so that a test takes less than a tenth of a second.
  looking: {
    mutate: ['src/workflows/verify-stick.ts', 'src/workflows/stick/{plan-stick,survey-stick,check-same-stick}.ts'],
    tests: [
      ['test/workflows/{verify-reading,prepare-again,verify-changed,verify-stick}.test.ts'],
      ['test/workflows/{stick-run,odd-entries,prepare,known-names,record-is-whole,earlier-versions}.test.ts'],
      ['test/outside/unlike-tables.test.ts'],
    ],
  },
  writing: {
    mutate: ['src/workflows/stick/{stick-run,stick-writer,publish}.ts'],
    tests: [
      ['test/workflows/{written-in-order,stick-run,prepare-again}.test.ts'],
      ['test/workflows/{prepare,flushed-before-told,many-sticks,odd-entries}.test.ts'],
    ],
  },
  passing: {
    mutate: [
      'src/workflows/{prepare-sticks,prepare-image,examine-archive}.ts',
      'src/workflows/stick/{read-back,fan-out}.ts',
    ],
    tests: [
      ['test/workflows/{fan-out,files-read}.test.ts'],
      ['test/workflows/{pass,prepare-image}.test.ts'],
      ['test/workflows/{written-in-order,stick-run,prepare-again}.test.ts'],
      ['test/workflows/{prepare,many-sticks,read-back,meters,expected-length}.test.ts'],
    ],
  },
  back: {
    mutate: ['src/workflows/{look-at-returned,returned-stick}.ts'],
    tests: [['test/workflows/{returned-steps,returned-look}.test.ts'], ['test/workflows/returned-stick.test.ts']],
  },
};
