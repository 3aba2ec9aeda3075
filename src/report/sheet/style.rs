//! How the pages look on a screen, by day and by night, on a phone and on paper.

/// The style sheet; the drawings bring their own.
pub(super) const STYLE: &str = "\
*{box-sizing:border-box}
html{color-scheme:light dark;-webkit-text-size-adjust:100%}
body{margin:0;background:var(--paper);color:var(--ink);font:16px/1.45 system-ui,sans-serif;overflow-wrap:break-word}
main{max-width:60rem;margin:0 auto;padding:1.1rem}
header{border-bottom:2px solid var(--ink);margin-bottom:1rem;padding-bottom:.6rem}
header p{margin:.15rem 0}
.kind{font-weight:600;color:var(--quiet);letter-spacing:.04em}
h1{font-size:1.45rem;line-height:1.2;margin:.1rem 0 .3rem;overflow-wrap:anywhere}
h2{font-size:1.08rem;margin:1.6rem 0 .5rem;break-after:avoid}
p{margin:.5rem 0}
.faint{color:var(--quiet)}
.verdict{font-size:1.15rem}
.good,.doubt,.bad{font-weight:700;border-bottom:3px solid}
.good{color:var(--good)}.doubt{color:var(--doubt)}.bad{color:var(--bad);border-bottom-style:double}
.drawings{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(100%,21rem),1fr));gap:1.2rem 1.6rem;align-items:start}
.drawings figure,.wide{margin:0;break-inside:avoid}
.drawings figure{max-width:34rem}
.wide{max-width:42rem}
svg.drawing{display:block;width:100%;height:auto}
table{border-collapse:collapse;font-variant-numeric:tabular-nums;width:100%}
th{font-weight:600;text-align:left;vertical-align:bottom;color:var(--quiet);font-size:.85rem;line-height:1.2}
th,td{padding:.3rem .5rem;border-bottom:1px solid var(--rule)}
td{vertical-align:top}
thead{display:table-header-group}
tr{break-inside:avoid}
table.narrow{width:auto}
table.narrow td,table.narrow th{padding-right:1.2rem}
.day,.judged{white-space:nowrap}
.number{text-align:right;white-space:nowrap}
.box{display:inline-block;width:1.15em;height:1.15em;border:1.6px solid var(--ink);border-radius:2px;vertical-align:-.2em}
.write{border:1.4px solid var(--ink);min-width:4.6rem;height:2rem}
.legs{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(100%,17rem),1fr));gap:0 1.6rem;align-items:start}
.legs h2{margin-top:1rem}
.blanks{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(100%,9rem),1fr));gap:1rem 1.4rem;margin:1rem 0}
.blank{border-bottom:1.4px solid var(--ink);min-height:2.6rem;display:flex;align-items:flex-end;color:var(--quiet);font-size:.85rem}
.cautions{border:2px solid var(--ink);border-radius:4px;padding:.5rem .8rem;margin:1rem 0;break-inside:avoid}
.cautions h2{margin:.1rem 0 .3rem}
.cautions ul{margin:0;padding-left:1.2rem}
.foot{font-weight:700;font-size:1.1rem}
.sign{break-inside:avoid}
footer{margin-top:1.6rem;border-top:1px solid var(--rule);padding-top:.4rem;color:var(--quiet);font-size:.8rem}
@media screen and (max-width:40rem){
main{padding:.9rem}
table.card thead{display:none}
table.card,table.card tbody{display:block}
table.card tr{display:grid;grid-template-columns:2rem 1fr;padding:.6rem 0;border-bottom:1px solid var(--rule)}
table.card td{border:0;padding:.12rem .3rem}
table.card td.tick{grid-row:1/9}
table.card td:not(.tick){grid-column:2}
table.card td[data-name]::before{content:attr(data-name) \": \";color:var(--quiet);font-size:.85rem}
table.card .write{height:2.4rem}
th,td{padding:.3rem .25rem}
table.narrow td,table.narrow th{padding-right:.5rem}
table.rounds thead{display:none}
table.rounds,table.rounds tbody,table.rounds tr,table.rounds td{display:block}
table.rounds td{border:0;padding:.1rem 0}
table.rounds tr{border-bottom:1px solid var(--rule);padding:.4rem 0}
table.rounds td[data-name]::before{content:attr(data-name) \": \";color:var(--quiet);font-size:.85rem}
}
@media print{
@page{margin:13mm}
body{font-size:10.5pt;line-height:1.35}
main{max-width:none;padding:0}
h2{margin-top:1rem}
.wide{max-width:150mm}
.drawings{grid-template-columns:1fr 1fr;gap:.6rem 1.2rem}
th,td{padding:.18rem .4rem}
.blanks{gap:.3rem 1.2rem;margin:.4rem 0 .7rem}
.blank{min-height:2rem}
.cautions{font-size:9pt;padding:.2rem .6rem;margin:.5rem 0 .7rem}
.cautions ul{columns:2;column-gap:2rem}
table.card{break-inside:avoid}
table.card td{font-size:10pt}
table.card th:nth-child(3){width:32%}
table.card th:nth-child(4){width:33%}
.write{height:9mm;min-width:26mm}
.legs{grid-template-columns:1.25fr 1fr 1fr;gap:0 1rem}
.legs h2{font-size:10.5pt;min-height:2.6em}
.legs th,.legs td{padding:.18rem .25rem}
.legs .number{width:1%}
.legs thead th{height:3em}
}
";

/// Colours of verdicts on white paper.
pub(super) const LIGHT: &str = ";--good:#1b6e2a;--doubt:#8a5a00;--bad:#b3261e";
/// Colours of verdicts on a dark screen.
pub(super) const DARK: &str = ";--good:#7fcf83;--doubt:#f0c060;--bad:#ff9a92";
