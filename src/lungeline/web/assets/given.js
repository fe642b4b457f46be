// What the server gave with the page: words, units, who and on what.
export const given = JSON.parse(document.getElementById("given").textContent);

/** The word for a key, in the person's language. */
export const word = (key) => given.words[key] ?? key;

/** A cookie's value, or an empty text. */
export const cookie = (name) =>
  document.cookie.split("; ").find((part) => part.startsWith(`${name}=`))?.slice(name.length + 1) ?? "";
