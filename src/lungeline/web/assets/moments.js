// Moments as text.

/** Seconds as minutes and seconds. */
export const clockText = (seconds) => `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`;
