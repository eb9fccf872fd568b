//! Names of the page's controls for tests: every `data-testid`, and nothing else. Readings that are not on a control
//! are in `test_surface`. `{side}` is `left` or `right`, `{id}` a number in its foot, `{param}` a parameter's id.
//!
//! Bar: `case-title`, `undo`, `redo`, `side-{side}`, `demo` (a select: ordinary, flat, high-arched), `new-case`,
//! `open-case`, `save-case`, `bring-in-scan`, `theme`.
//!
//! Frame: `stage-{intake|measure|fit|shape|grade|make}`, `stage-title`, `panel`, `hint`, `findings`,
//! `findings-summary`, `finding-{rule}`, `finding-show`, `notices`, `notice`, `notice-text`, `notice-dismiss`, `busy`,
//! `busy-stop`, `begin`, `begin-scan`, `begin-case`, `open-demo-{person}`.
//!
//! Intake: `weight-bearing-{none|half|full}`, `weight-bearing-open`, `mass`, `mass-reset`, `foot-card-{side}`,
//! `add-scan-{side}`, `scan-name-{side}`, `unit-{side}`, `unit-length-{side}`, `cut-height-{side}`,
//! `switch-side-{side}`, `replace-scan-{side}`, `remove-foot-{side}`, `intake-notes-{side}`.
//!
//! Measure: `landmarks`, `landmark-{landmark}`, `landmark-{landmark}-by-hand`, `landmark-{landmark}-release`,
//! `landmark-{landmark}-{x|y|z}`, `measures`, `measure-{measure}`, `measure-{measure}-{side}`.
//!
//! Fit: `size-system`, `size-value`, `size-value-reset`, `size-reason`, `size-systems`, `size-{system}`, `last-length`,
//! `last-{param}`, `last-{param}-reset`, `fit-residual`, `outline-sizes`.
//!
//! Shape: `part-{build|elements|surface|sculpt|compare|measure-cut}` and `part-{first param of a group}` fold and unfold.
//! `build-choice` (a select: `starter:{id}`, `own:{name}`), `build-about`, `build-use`, `build-use-both`, `build-download`,
//! `build-remove`, `build-open`, `build-{save|name|keep}`; `where-{landmarks|click}`, then `add-{kind}` or `place-{kind}`,
//! `preset-{name}`, `elements`, `element-{id}`, `element-{id}-{on|twin|remove|caution|text|copy|draw|undrawn}`,
//! `element-{id}-{save|name|keep}`, `element-{id}-{param}`; `surface-both`, `decided-{first param of a group}`, `arch-sum`,
//! `arch-computed`, `arch-used`, `surface-{param}`, `surface-{param}-reset`; `sculpt-{tool}`, `sculpt-radius`,
//! `sculpt-strength`, `sculpt-on`, `sculpt-clear`; `compare-with` (a select: empty, before, kept, other, bare),
//! `compare-missing`, `compare-figures`, `compare-{most|least}`, `compare-{most|least}-show`, `compare-mean`,
//! `compare-area`, `set-aside`; `measure-places`, `cut-line`, `cut-line-back`, `measured`, `measured-{figure}`,
//! `measured-places`, `measured-clear`.
//!
//! Grade: `base-shore-a`, `hardness-range`, `steepest`, `steepest-show`, `new-shore-a`, `new-transition`, `draw-region`,
//! `draw-help`, `draw-add`, `draw-close`, `draw-back`, `regions`, `region-{id}`, `region-{id}-on`, `region-{id}-remove`,
//! `region-{id}-name`, `region-{id}-shore-a`, `region-{id}-transition`, `region-{id}-point-{index}-{x|y}`.
//!
//! Make: `check-findings`, `check-size`, `check-thinnest-{side}`, `check-thinnest-{side}-show`, `job-notes`,
//! `download-solid-{side}`, `open-sheet`, `download-sheet`, `make-save-case`, `caution`.
//!
//! Sheet: `show-pair`, `show-one`, `plan-fit`, `paint` (a select: none, hardness, thickness, difference), `plan-snap`,
//! `readout`, `plan`, `scale`, `legend`, `plan-cut-end-{0|1}`, `plan-brush`, `plan-measured-{distance|angle}`, and a handle
//! each: `plan-{side}-{handle}`, where `{handle}` is `landmark-{landmark}`, `element-{id}-{handle id}`,
//! `element-{id}-point-{index}`, `region-{id}-{index}` or `surface-{param}`.
//!
//! 3D: `preset` (a select), `view3d-fit`, `skin-{solid|ghost|off}`, `view3d`, `view3d-measured-{distance|angle}`, `no-3d`.
//!
//! Strip: `strip-{along|across}`, `strip-{along|across}-title`, `strip-{along|across}-whole`, handles
//! `{along|across}-{side}-{handle}`, `{along|across}-measured-{distance|angle}`, `strip-readings`, `strip-lengthwise`,
//! `strip-legend`.
