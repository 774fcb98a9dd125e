# exit 0
# no stderr
# stdout ^  press to 50 %
# stdout ASTM D395
# stdout ^  # modulus: printed
strutpress list protocols && strutpress list filaments
