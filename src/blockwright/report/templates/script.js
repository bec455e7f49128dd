(function () {
  var root = document.documentElement, button = document.getElementById("shade");
  function dark() {
    return root.dataset.shade ? root.dataset.shade === "dark" : matchMedia("(prefers-color-scheme: dark)").matches;
  }
  function label() { button.textContent = dark() ? "Light" : "Dark"; }
  button.hidden = false;
  label();
  button.addEventListener("click", function () { root.dataset.shade = dark() ? "light" : "dark"; label(); });
})();
