// For browsers that do not know modules: they run this and nothing else.
(function () {
  var told = document.getElementById("trouble");
  told.hidden = false;
  told.textContent = "This browser is too old for a visit. Use a current Chrome, Edge, Safari or Firefox. / "
    + "Este navegador es demasiado antiguo para una visita. Use una versión actual de Chrome, Edge, Safari o Firefox.";
})();
