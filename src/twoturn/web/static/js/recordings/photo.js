// A photo that was chosen, shown small before it is sent.

/** Show the file of `input` small in `place`, with `words` beside it; anything that is no picture by its name alone. */
export function showSmall(file, place) {
  const old = place.querySelector("img");
  if (old) URL.revokeObjectURL(old.src);
  place.replaceChildren();
  if (!file) return;
  if (file.type.startsWith("image/")) {
    const small = document.createElement("img");
    small.alt = "";
    small.addEventListener("error", () => small.remove()); // a format that this browser cannot draw
    small.src = URL.createObjectURL(file);
    place.append(small);
  }
  place.append(`${file.name}, ${sizeWords(file.size)}`);
}

function sizeWords(bytes) {
  return bytes >= 1e6 ? `${(bytes / 1e6).toFixed(1)} MB` : `${Math.max(1, Math.round(bytes / 1e3))} kB`;
}
