// Large keys under a number field. The field stays an ordinary field: keys write into it.
