"""The handout of a plan, as one HTML file and as a workbook.

`document` makes both of a `job.HandoutJob`: pure functions, no widgets, no script; nothing in the file asks another
machine.
`customer` and `picture` are the customer's page in plain words, which fits one sheet, and its bars; `installer` and
`engineer` the tables of the other two parts, as `table.Table`; `table` and `workbook` write a table as HTML and all of
them as .xlsx, where text never runs; `style` has screen, light and dark, paper, and what hovering and focus show.
"""
