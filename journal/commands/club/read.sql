-- One package's movements as text, every cell as it stands; the row's number is that of its record, the head being 1.
CREATE OR REPLACE TEMP TABLE cells_as_text AS
SELECT row_number() OVER () + 1 AS row, *
FROM read_csv(
    $file,
    auto_detect = false, header = true, all_varchar = true, strict_mode = true, null_padding = false,
    delim = ',', quote = '"', escape = '"', nullstr = '', encoding = 'utf-8',
    max_line_size = 65536, columns = $columns, parallel = false
);
