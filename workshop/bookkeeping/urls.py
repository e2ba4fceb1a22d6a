from django.urls import URLPattern

app_name = "bookkeeping"
urlpatterns: list[URLPattern] = []
