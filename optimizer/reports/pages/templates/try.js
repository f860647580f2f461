document.querySelectorAll("form.try").forEach(function (form) {
  var name = form.dataset.figure;
  var data = JSON.parse(document.querySelector('script[data-for="' + name + '"]').textContent);
  var tried = document.getElementById(name + "-tried");
  var inputs = data.stops.map(function (_, k) { return form.querySelectorAll("input")[k]; });
  var outputs = form.querySelectorAll("output");
  var says = form.querySelector("[data-says]");
  function show() {
    var places = inputs.map(function (input) { return Number(input.value); });
    var one = data.settings[places[0] * data.stops[1].length + places[1]];
    outputs.forEach(function (output, k) { output.textContent = data.stops[k][places[k]]; });
    says.textContent = one ? one.says : data.none;
    tried.setAttribute("d", one ? one.toe.map(function (toe, k) {
      return (k ? "L" : "M") + (data.x0 + data.kx * toe).toFixed(2) + " " + data.heights[k];
    }).join(" ") : "");
    inputs.forEach(function (input, k) { input.setAttribute("aria-valuetext", data.stops[k][places[k]]); });
  }
  form.addEventListener("input", show);
  form.addEventListener("submit", function (event) { event.preventDefault(); });
  form.querySelector("button").addEventListener("click", function () {
    inputs.forEach(function (input, k) { input.value = data.marked[k]; });
    show();
  });
  form.hidden = false;
  show();
});
