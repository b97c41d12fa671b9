/** What to know of a desk's key, in the command and in the window alike. */
export const sealAdvice = {
  holds: 'From now on every stick prepared here is sealed with it.',
  give: 'Give the public file to whoever verifies sticks:',
  keep: 'Keep the private file to yourself, and a copy of it in a safe place.',
} as const;
