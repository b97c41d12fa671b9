import { useState } from 'preact/hooks';

interface DropWords {
  readonly words: string;
  /** As the `accept` of a file input; what is dropped is looked at by the server. */
  readonly accept: string;
  readonly several?: boolean;
  readonly take: (files: readonly File[]) => Promise<void>;
}

/** A tray that files are dropped into; the same by keyboard, as a file that is chosen. */
export function Drop({ words, accept, several = false, take }: DropWords) {
  const [isOver, setOver] = useState(false);
  const hold = (event: DragEvent): void => {
    event.preventDefault();
    setOver(true);
  };
  return (
    <label
      class={isOver ? 'drop over' : 'drop'}
      onDragEnter={hold}
      onDragOver={hold}
      onDragLeave={() => setOver(false)}
      onDrop={(event) => {
        event.preventDefault();
        setOver(false);
        void take([...(event.dataTransfer?.files ?? [])]);
      }}
    >
      {words}, or choose{' '}
      <input
        type="file"
        accept={accept}
        multiple={several}
        onChange={({ currentTarget }) => {
          const files = [...(currentTarget.files ?? [])];
          // So that the same file can be chosen again.
          currentTarget.value = '';
          void take(files);
        }}
      />
    </label>
  );
}
