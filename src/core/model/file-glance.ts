/** What a look into a file showed: its first bytes, and of a zip archive what it lists. Nothing of it is proven. */
export interface FileGlance {
  /** What the first bytes are, in the words of a person, where they are those of something that panels install. */
  readonly image: string | undefined;
  /** Paths that an archive lists; empty where the file is none. */
  readonly names: readonly string[];
  /** What archives and images lie in it. */
  readonly inner: readonly InnerGlance[];
  /** false: it could not be looked into as far as was wished. */
  readonly whole: boolean;
}

export interface InnerGlance extends FileGlance {
  readonly name: string;
}
