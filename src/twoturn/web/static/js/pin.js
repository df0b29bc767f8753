// The keys of the PIN: big ones for gloves. The field itself takes a keyboard as well.

for (const form of document.querySelectorAll("[data-pin]")) {
  const field = form.querySelector("input[name=pin]");
  const pad = form.querySelector("[data-pad]");
  pad.hidden = false;
  pad.addEventListener("click", (event) => {
    const key = event.target.closest("button");
    if (!key) return;
    if (key.dataset.digit !== undefined) {
      if (field.value.length < field.maxLength) field.value += key.dataset.digit;
    } else if (key.dataset.clear !== undefined) {
      field.value = "";
    } else {
      field.value = field.value.slice(0, -1);
    }
    field.dispatchEvent(new Event("input", { bubbles: true }));
  });
}
