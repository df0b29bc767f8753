// The invoice text: copied by one key; where the browser does not allow that, it is selected and said so.

const text = document.getElementById("invoice");
const key = document.getElementById("copy");
const said = document.getElementById("copied");

async function copy() {
  text.focus();
  text.select();
  try {
    await navigator.clipboard.writeText(text.value);
    said.textContent = "Copied.";
  } catch {
    said.textContent = "This browser does not let a page copy: the text is selected, copy it by hand.";
  }
}

if (text && key) key.addEventListener("click", copy);
