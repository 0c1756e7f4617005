// The records that desk and page exchange, described in desk/server.
// Made by `python -m tests.renew_page_types`.

/**
 * @typedef {object} ArchStart
 * @property {Array<Base>} bases
 * @property {string} usual_base
 * @property {Array<string>} own
 * @property {Array<string>} problems
 * @property {[number, number]} length_limits_mm
 */

/**
 * @typedef {object} Base
 * @property {string} value
 * @property {string} label
 * @property {Array<ToothName>} upper
 * @property {Array<ToothName>} lower
 */

/**
 * @typedef {object} CalliperField
 * @property {string} measure
 * @property {string} what
 * @property {string} how
 * @property {string} found
 * @property {boolean} across
 */

/**
 * @typedef {object} Callipers
 * @property {Array<CalliperField>} fields
 * @property {string} svg
 */

/**
 * @typedef {object} CaseStart
 * @property {string} practice
 * @property {Array<string>} procedures
 * @property {Array<string>} accesses
 * @property {Array<string>} shifts
 * @property {Array<Named>} archs
 * @property {Array<Named>} sheets
 * @property {Array<string>} notations
 * @property {Array<string>} materials
 * @property {Array<string>} rows
 * @property {Array<string>} holds
 * @property {string} sheet_in_use
 * @property {string} notation_in_use
 * @property {string} material_in_use
 * @property {string} shift_in_use
 * @property {string} row_in_use
 * @property {string} hold_in_use
 * @property {string} printer
 * @property {number} age_most
 * @property {number} more_most
 * @property {number} reference_most
 * @property {number} copies_most
 */

/**
 * @typedef {object} Change
 * @property {string} fingerprint
 * @property {Record<string, boolean | number | string | Array<boolean | number | string | Record<string, boolean | number | string | Array<boolean | number | string | null> | null> | null> | null>} values
 */

/**
 * @typedef {object} Chart
 * @property {Array<ChartTooth>} upper
 * @property {Array<ChartTooth>} lower
 * @property {[number, number, number, number]} box
 */

/**
 * @typedef {object} ChartTooth
 * @property {string} tooth
 * @property {string} label
 * @property {string} name
 * @property {Array<[number, number]>} outline
 * @property {[number, number]} label_at
 * @property {boolean} stands
 * @property {Array<string>} different
 * @property {string | null} instead
 */

/**
 * @typedef {object} CheckedHole
 * @property {string} tooth
 * @property {string} off
 * @property {string} where
 * @property {string} own
 * @property {string} place
 * @property {string} hole
 * @property {string} size
 */

/**
 * @typedef {object} Clamp
 * @property {string} anchor
 * @property {string} clamp
 */

/**
 * @typedef {object} ClampRow
 * @property {string} tooth
 * @property {string} clamp
 * @property {string} reason
 * @property {string} next_best
 */

/**
 * @typedef {object} ClampUse
 * @property {string} label
 * @property {number} wanted
 * @property {number} in_tray
 * @property {number} most_at_once
 * @property {number} untimed
 */

/**
 * @typedef {object} Clash
 * @property {number} row
 * @property {string} time
 * @property {string} anchor
 * @property {string} text
 */

/** @typedef {"few-in-front" | "no-tooth-behind" | "no-right-end" | "no-left-end" | "short-arch" | "no-more" | "few-more" | "row-rule" | "row-rule-unused" | "anchor-replaced" | "anchor-not-sound" | "perhaps-partly-erupted" | "perhaps-loose" | "held-without-clamp" | "hold-unused" | "tooth-state" | "other-jaw" | "stretch-over-limit" | "end-rim-over-break" | "no-larger-hole" | "narrow-strip" | "wide-strip" | "much-ease" | "width-missed" | "hole-to-edge" | "side-edge" | "upper-edge" | "lower-edge" | "above-nostrils" | "not-in-stock" | "no-clamp" | "unusual-measure" | "measures-disagree" | "predicted-place" | "place-kept" | "unusual-scale" | "row-differs" | "mirrored" | "mirror-unknown" | "stray-point" | "odd-width" | "scan-crumbs" | "scan-inside-out" | "scan-up" | "scan-front" | "scan-jaw" | "scan-teeth"} Code */

/**
 * @typedef {object} Day
 * @property {number} cases
 * @property {number} left_out
 * @property {Array<string>} notes
 * @property {Array<string>} doubts
 * @property {string} day
 * @property {Array<RowShown>} rows
 * @property {Tray} tray
 * @property {string} command
 */

/**
 * @typedef {object} Different
 * @property {string} tooth
 * @property {string} label
 * @property {Array<string>} states
 */

/**
 * @typedef {object} FigureShown
 * @property {string} what
 * @property {string} measured
 * @property {string} fitted
 * @property {string} usual
 */

/**
 * @typedef {object} FindingShown
 * @property {Code} code
 * @property {"info" | "warning"} severity
 * @property {string} text
 */

/**
 * @typedef {object} FitRequest
 * @property {string} name
 * @property {string} date
 * @property {string} [base]
 * @property {ScaleRequest} scale
 * @property {Array<PickedTooth | PickedMiddleTooth | PickedGumTooth>} teeth
 */

/**
 * @typedef {object} Fitted
 * @property {string} name
 * @property {string} title
 * @property {string} worst
 * @property {Array<Residual>} residuals
 * @property {Array<FigureShown>} figures
 * @property {string} predicted
 * @property {Array<FindingShown>} findings
 * @property {string} picture
 * @property {number} picture_pages
 * @property {string} model
 * @property {string} landmarks
 * @property {string} command
 * @property {"." | ","} decimal
 */

/**
 * @typedef {object} Form
 * @property {Array<FormSection>} sections
 * @property {Array<FormRows>} lists
 */

/**
 * @typedef {object} FormField
 * @property {string} key
 * @property {string} label
 * @property {string} description
 * @property {string} limit
 * @property {"text" | "number" | "choice" | "choice-or-number" | "yes-no" | "numbers" | "texts" | "pair"} kind
 * @property {boolean} required
 * @property {boolean} whole
 * @property {Array<string>} choices
 * @property {number | null} least
 * @property {number | null} most
 * @property {string} unit
 * @property {string | boolean | number | Array<string | boolean | number> | null} default
 * @property {string | boolean | number | Array<string | boolean | number> | null} value
 */

/**
 * @typedef {object} FormRows
 * @property {string} key
 * @property {string} label
 * @property {string} description
 * @property {string} row
 * @property {Array<FormField>} columns
 * @property {Array<Record<string, string | boolean | number | Array<string | boolean | number> | null>>} default
 * @property {Array<Record<string, string | boolean | number | Array<string | boolean | number> | null>> | null} rows
 */

/**
 * @typedef {object} FormSection
 * @property {string} key
 * @property {string} label
 * @property {Array<FormField>} fields
 */

/**
 * @typedef {object} Found
 * @property {string} key
 * @property {string} text
 */

/**
 * @typedef {object} FoundMark
 * @property {number} x
 * @property {number} y
 * @property {number} [diameter_mm]
 * @property {number} [roundness]
 */

/**
 * @typedef {object} Handout
 * @property {string} name
 * @property {string} shows
 */

/**
 * @typedef {object} HeadingRead
 * @property {string} heading
 * @property {"ignored" | "time" | "date" | "reference" | "teeth" | "procedure" | "notation" | "age" | "born" | "arch" | "exceptions" | "remark" | "summary" | "access" | "sheet" | "measure"} column
 */

/**
 * @typedef {object} HeadingShown
 * @property {string} heading
 * @property {string} column
 */

/**
 * @typedef {object} HoleRow
 * @property {string} position
 * @property {string} diameter
 * @property {Array<string>} teeth
 */

/**
 * @typedef {object} Judged
 * @property {boolean} good
 * @property {number} tolerance_mm
 * @property {string} verdict
 * @property {Array<string>} remarks
 * @property {Array<CheckedHole>} rows
 */

/**
 * @typedef {object} Kept
 * @property {string} file
 */

/**
 * @typedef {object} LeftOut
 * @property {Array<string>} parts
 * @property {string} line
 */

/**
 * @typedef {object} ListHeadings
 * @property {Array<HeadingShown>} headings
 * @property {Array<string>} unknown
 * @property {Array<string>} columns
 * @property {Array<string>} meanings
 */

/**
 * @typedef {object} Marked
 * @property {Array<FoundMark>} marks
 * @property {SheetSeen} sheet
 */

/**
 * @typedef {object} Measured
 * @property {string} name
 * @property {number} x
 * @property {number} y
 * @property {boolean} [confirmed]
 */

/**
 * @typedef {object} Named
 * @property {string} value
 * @property {string} label
 */

/**
 * @typedef {object} Photographed
 * @property {string} picture
 * @property {number} width
 * @property {number} height
 * @property {number} pixels_per_mm
 * @property {Array<PlannedPlace>} places
 * @property {Array<FoundMark>} marks
 * @property {SheetSeen} sheet
 * @property {Judged} judged
 */

/**
 * @typedef {object} PickedGumTooth
 * @property {string} tooth
 * @property {[number, number]} facial
 * @property {[number, number]} lingual
 */

/**
 * @typedef {object} PickedMiddleTooth
 * @property {string} tooth
 * @property {[number, number]} middle
 */

/**
 * @typedef {object} PickedTooth
 * @property {string} tooth
 * @property {[number, number]} mesial
 * @property {[number, number]} distal
 */

/**
 * @typedef {object} PlannedPlace
 * @property {string} tooth
 * @property {number} x
 * @property {number} y
 */

/**
 * @typedef {object} ProposedTooth
 * @property {string} tooth
 * @property {[number, number]} middle
 * @property {number} sure
 * @property {boolean} unsure
 */

/**
 * @typedef {object} Residual
 * @property {string} tooth
 * @property {string} name
 * @property {number | null} width_mm
 * @property {number} facial_mm
 * @property {number} mesial_mm
 * @property {boolean} odd
 */

/**
 * @typedef {object} RowCells
 * @property {Record<string, string>} cells
 * @property {Array<string>} lost
 */

/**
 * @typedef {object} RowShown
 * @property {number} row
 * @property {boolean} done
 * @property {string} time
 * @property {string} reference
 * @property {string} teeth
 * @property {string} procedure
 * @property {string} sheet
 * @property {Array<Clamp>} clamps
 * @property {Array<Trouble>} problems
 * @property {Array<Trouble>} remarks
 * @property {Record<string, string>} cells
 * @property {Record<string, string>} address
 */

/**
 * @typedef {object} SaveRequest
 * @property {string} name
 * @property {string} date
 * @property {string} [base]
 * @property {ScaleRequest} scale
 * @property {Array<PickedTooth | PickedMiddleTooth | PickedGumTooth>} teeth
 * @property {boolean} [replace]
 */

/**
 * @typedef {object} SavedList
 * @property {Array<Record<string, string>>} rows
 * @property {string | null} [day]
 */

/**
 * @typedef {object} SavedModel
 * @property {string} name
 * @property {string} title
 */

/**
 * @typedef {object} ScaleRequest
 * @property {[number, number]} first
 * @property {[number, number]} second
 * @property {number} mm
 */

/**
 * @typedef {object} Scanned
 * @property {"upper" | "lower"} jaw
 * @property {string} picture
 * @property {number} width
 * @property {number} height
 * @property {number} pixels_per_mm
 * @property {Array<ProposedTooth>} teeth
 * @property {Array<FindingShown>} findings
 */

/**
 * @typedef {object} Settings
 * @property {string} file
 * @property {string} fingerprint
 * @property {Form} form
 * @property {Array<string>} problems
 * @property {Array<Found>} found
 * @property {number} test_bar_mm
 * @property {number} bar_least_mm
 * @property {number} bar_most_mm
 */

/**
 * @typedef {object} Sheet
 * @property {string} title
 * @property {Array<string>} isolated
 * @property {Record<string, string>} roles
 * @property {Array<string>} treated
 * @property {Array<HoleRow>} holes
 * @property {Array<ClampRow>} clamps
 * @property {Array<FindingShown>} findings
 * @property {string} middle
 * @property {string} sheet
 * @property {string} svg
 * @property {Callipers} callipers
 * @property {string} command
 */

/**
 * @typedef {object} SheetSeen
 * @property {[number, number]} middle
 * @property {number} turn_deg
 * @property {[number, number]} size
 * @property {[number, number, number]} eye
 * @property {Array<[number, number]>} pen_marks
 */

/**
 * @typedef {object} Sheets
 * @property {string} sheet
 * @property {number} count
 */

/**
 * @typedef {object} Shown
 * @property {string} notation
 * @property {Chart} chart
 * @property {Array<Different>} different
 * @property {Array<Named>} undrawn
 * @property {Sheet | null} sheet
 * @property {Array<Suggestion>} suggestions
 * @property {Array<string>} problems
 */

/**
 * @typedef {object} Stored
 * @property {string} text
 * @property {string} question
 * @property {Settings} settings
 */

/**
 * @typedef {object} Suggestion
 * @property {string} text
 * @property {string} name
 * @property {string} value
 */

/**
 * @typedef {object} Taught
 * @property {Array<HeadingRead>} [headings]
 * @property {Array<WordRead>} [procedures]
 */

/**
 * @typedef {object} TermShown
 * @property {string} key
 * @property {string} title
 * @property {string} text
 * @property {Array<string>} see
 */

/**
 * @typedef {object} ToothName
 * @property {string} tooth
 * @property {string} name
 * @property {boolean} usual
 */

/**
 * @typedef {object} Tray
 * @property {Array<Sheets>} sheets
 * @property {Array<ClampUse>} clamps
 * @property {Array<Clash>} clashes
 * @property {number} ready_again_min
 */

/**
 * @typedef {object} Trouble
 * @property {string} column
 * @property {string} value
 * @property {string} advice
 */

/**
 * @typedef {object} WordRead
 * @property {string} word
 * @property {"skipped" | "restoration" | "crown" | "root-canal" | "cervical" | "full-arch"} means
 */

/**
 * What each address answers, as JSON.
 * @typedef {{
 *   "/api/left-out": LeftOut,
 *   "/api/start": CaseStart,
 *   "/api/case": Shown,
 *   "/api/case.row": Record<string, string>,
 *   "/api/glossary": Array<TermShown>,
 *   "/api/handouts": Array<Handout>,
 *   "/api/day/columns": Array<string>,
 *   "/api/day": Day,
 *   "/api/day/headings": ListHeadings,
 *   "/api/day/teach": Kept,
 *   "/api/day/row": RowCells,
 *   "/api/arch/start": ArchStart,
 *   "/api/arch/fit": Fitted,
 *   "/api/arch/save": SavedModel,
 *   "/api/arch/scan": Scanned,
 *   "/api/check": Photographed,
 *   "/api/check/again": Judged,
 *   "/api/practice": Settings,
 *   "/api/printer": Stored,
 * }} Answers
 */

/**
 * What is sent to an address.
 * @typedef {{
 *   "/api/day": ArrayBuffer,
 *   "/api/day.pdf": ArrayBuffer,
 *   "/api/day/headings": ArrayBuffer,
 *   "/api/day/teach": Taught,
 *   "/api/day/list.csv": SavedList,
 *   "/api/arch/fit": FitRequest,
 *   "/api/arch/save": SaveRequest,
 *   "/api/arch/scan": ArrayBuffer,
 *   "/api/check": ArrayBuffer,
 *   "/api/check/again": Marked,
 *   "/api/check.pdf": Marked,
 *   "/api/practice": Change,
 *   "/api/printer": Measured,
 * }} Bodies
 */

export {};
