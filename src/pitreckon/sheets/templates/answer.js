(function () {
  "use strict";
  var form = document.getElementById("questions");
  function value(id) { return document.getElementById(id).value.trim(); }
  function number(text) { return text.replace(",", "."); }
  function plain(text) { return text.replace(/[\u0000-\u001f\u007f-\u009f\u2028\u2029]+/g, " ").trim(); }
  function complain(words) {
    var at = document.getElementById("wrong");
    at.textContent = words;
    at.hidden = !words;
    if (words) { document.getElementById("made").hidden = true; at.scrollIntoView({ block: "center" }); }
    return !words;
  }
  function lines() {
    var found = {};
    document.querySelectorAll("[data-line]").forEach(function (each) {
      var typed = each.value.trim();
      if (typed && Number(number(typed)) !== 0) {
        var n = each.dataset.line;
        found[n] = (found[n] ? found[n] + " " : "") + number(typed) + " " + each.dataset.part;
      }
    });
    return Object.keys(found).map(function (n) { return "line " + n + ": " + found[n]; });
  }
  function text() {
    var faults = Array.from(document.querySelectorAll("[data-fault]:checked")).map(function (each) { return each.value; });
    var right = document.getElementById("right");
    if (!value("pit")) { return complain(form.dataset.pit) && ""; }
    if (!value("set")) { return complain(form.dataset.set) && ""; }
    if (!faults.length && !right.checked) { return complain(form.dataset.out) && ""; }
    if (faults.length && right.checked) { return complain(form.dataset.both) && ""; }
    complain("");
    var all = ["pitreckon answer 1", "card: " + form.dataset.code, "pit: " + value("pit")];
    all.push("set: " + number(value("set")) + " " + value("set-unit"));
    if (value("altitude")) { all.push("altitude: " + number(value("altitude")) + " " + value("altitude-unit")); }
    all.push("thickness: " + value("thickness"));
    all = all.concat(lines());
    all.push("came out: " + (faults.join(", ") || right.value));
    var note = plain(value("note"));
    if (note) { all.push("note: " + note); }
    return all.concat(["end", ""]).join("\n");
  }
  form.addEventListener("submit", function (event) {
    event.preventDefault();
    var made = text();
    if (made) {
      document.getElementById("text").value = made;
      document.getElementById("made").hidden = false;
      document.getElementById("copied").textContent = "";
      document.getElementById("made").scrollIntoView();
    }
  });
  document.getElementById("save").addEventListener("click", function () {
    var link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([value("text") + "\n"], { type: "text/plain" }));
    link.download = "answer-" + form.dataset.code + ".txt";
    link.click();
    setTimeout(function () { URL.revokeObjectURL(link.href); }, 10000);
  });
  document.getElementById("copy").addEventListener("click", function () {
    var box = document.getElementById("text"), told = document.getElementById("copied");
    function failed() { box.focus(); box.select(); told.textContent = form.dataset.notCopied; }
    function done() { told.textContent = form.dataset.copied; }
    if (navigator.clipboard) { navigator.clipboard.writeText(box.value).then(done, failed); } else { failed(); }
  });
})();
